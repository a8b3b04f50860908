"""Checkpoints go out by themselves: to their folders, and to the owners by mail, once a week."""

import logging
from datetime import timedelta
from smtplib import SMTPException

from django.conf import settings
from django.core.mail import send_mail
from django.db import transaction

from clinic import clock
from clinic.checkpoints import checking_command, checkpoint, our_own, public_key, write_everywhere
from clinic.models import Appointment, Change, Person, Post, Site
from clinic.models.people import holds_on
from clinic.record import record
from clinic.rules.words import counted, day_words

EVERY = timedelta(days=7)  # our own choice: what a rewritten log can hide from a held head is what came after it
PAUSE = 1800.0  # seconds between two looks of the thread whether one is due
GIVEN = "clinic.checkpoint"  # `Change.about` of the fact that a checkpoint went out
log = logging.getLogger(__name__)


@transaction.atomic
def give_out(site: Site, *, by: Person | None) -> Change:
    """Sign the head of the log, put it into every place, mail it to the owners, and record where it went."""
    site = Site.objects.select_for_update().select_related("organisation").get(pk=site.pk)
    note = checkpoint(site)
    head = our_own(note)
    failed = write_everywhere(site, note)
    mailed, unsent = mail(site, note)
    after = {"size": head.size, "root": head.root.hex(), "mailed": mailed, "failed": [*failed, *unsent]}
    said = f"Checkpoint over {counted(head.size, 'seal')} given out: {counted(mailed, 'mail')}."
    today = clock.today(site.time_zone)
    fact = Change(site=site, happened_on=today, about=GIVEN, about_id=str(site.pk), said=said, after=after)
    return record(fact, by=by)


def owners(site: Site) -> list[Person]:
    """Whoever owns the site today and has an address."""
    today = clock.today(site.time_zone)
    posts = Appointment.objects.filter(holds_on(today), post=Post.OWNER, person__organisation=site.organisation_id)
    here = [post.person for post in posts.select_related("person") if post.site_id in (None, site.pk)]
    return list({person.pk: person for person in here if person.email}.values())


def mail(site: Site, note: str) -> tuple[int, list[str]]:
    """How many mails left, and which did not, in words. Without a mail server none is tried."""
    if not settings.EMAIL_HOST:
        return 0, []
    sent, unsent = 0, []
    for person in owners(site):
        try:
            sent += send_mail(f"Checkpoint of the register, {site.name}", letter(site, note), None, [person.email])
        except (OSError, SMTPException) as wrong:
            unsent.append(f"mail to {person}: {wrong}"[:200])
    return sent, unsent


def letter(site: Site, note: str) -> str:
    head = our_own(note)
    return (
        f"This is the head of the log of {site.name} on {day_words(clock.today(site.time_zone))}. Keep this mail: nothing in "
        "the register can change it.\n\n"
        f"To check later that the log still begins with these {counted(head.size, 'seal')}, unchanged and in order, run in "
        f"the register:\n\n    {checking_command(site, head)}\n\n"
        "or keep what stands between the lines as a file and give its name instead.\n"
        f"-----\n{note}-----\n"
        f"Public key: {public_key(head.origin)}\n\n"
        "It cannot show that what was recorded is true, nor that everything was recorded.\n"
    )


def last_given(site: Site) -> Change | None:
    return Change.objects.filter(site=site, about=GIVEN).order_by("recorded_at").last()


def is_due(site: Site) -> bool:
    last = last_given(site)
    return last is None or not clock.now() - EVERY < last.recorded_at <= clock.now()


def give_out_what_is_due() -> list[Site]:
    """Every site whose last checkpoint is a week old. One that fails is tried again at the next round, and keeps no other."""
    done = []
    for site in Site.objects.filter(last_position__gt=0):
        try:
            with transaction.atomic():
                Site.objects.select_for_update().get(pk=site.pk)
                if not is_due(site):
                    continue
                give_out(site, by=None)
            done.append(site)
        except Exception:
            log.exception("The checkpoint of %s could not be given out.", site)
    return done
