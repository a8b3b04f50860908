"""Getting back into an account: asked for by one person, confirmed by a second, used by its owner (row E-22).

No one person can do it alone, and nobody holds a code that opens the account of somebody above them. Each step is a sealed
fact, and the account's owner is told of it by mail and at the next sign-in.
"""

from datetime import datetime, timedelta
from smtplib import SMTPException
from uuid import UUID, uuid4

from django.conf import settings
from django.core.mail import send_mail
from django.db import transaction

from clinic import clock
from clinic.accounts import logger, new_code
from clinic.actions.factors import lose_all
from clinic.models import Account, AccountRecovery, Change, Person
from clinic.notices import tell_owner
from clinic.ranks import may_open_for
from clinic.reads.own_account import what_was_done
from clinic.record import Refusal, Refused, record, refuse_if
from clinic.rules.words import instant_words

WAITS = timedelta(days=3)  # for the second person
CODE_LASTS = timedelta(hours=24)
ADDRESS_STANDS = timedelta(days=7)  # before a code is mailed to it
Step, Way = AccountRecovery.Step, AccountRecovery.Way


def ask_recovery(
    person: Person, *, by: Person | None, how: str, factor_lost: bool = False, id: UUID | None = None
) -> AccountRecovery:
    """Somebody cannot get in any more. `by` None: asked at the machine itself. Sent twice, it is one."""
    account = Account.objects.filter(person=person).first()
    refuse_if(
        Refusal(f"{person} has no password yet.", "Make an invitation instead.")
        if account is None or not account.has_usable_password()
        else None,
        Refusal(f"The account of {person} is closed.", "Open it again at the account review, then ask.")
        if account and not account.is_active
        else None,
        Refusal("Nobody asks for their own account.", "Let a coordinator or owner ask.") if by == person else None,
        Refusal("How it was checked who asks is not said.", "Say by whom, where and how.", "how")
        if not how.strip()
        else None,
        Refusal("A recovery is already asked for.", "Let it be confirmed, or wait until it is over.")
        if any(not is_over(each) and each.pk != id for each in waiting(person))
        else None,
    )
    asked = record(step_of(person, Step.ASKED, id, reason=how.strip(), factor_lost=factor_lost), by=by)
    tell_owner(person, f"{by or 'Somebody at the register’s own computer'} asked to open your account anew.")
    return asked


def step_of(person: Person, step: str, id: UUID | None = None, **more: object) -> AccountRecovery:
    site = person.home_site
    today = clock.today(site.time_zone)
    return AccountRecovery(id=id or uuid4(), site=site, happened_on=today, person=person, step=step, **more)


def waiting(person: Person) -> list[AccountRecovery]:
    rows = AccountRecovery.objects.filter(person=person, step=Step.ASKED).exclude(steps__step=Step.CONFIRMED)
    return list(rows.order_by("recorded_at"))


def is_over(asked: AccountRecovery) -> bool:
    """Whether it waited for the second person for too long."""
    return clock.now() - asked.recorded_at > WAITS


def refusals_to_confirm(asked: AccountRecovery, by: Person) -> list[Refusal]:
    """Why this person does not confirm it: every reason at once; empty where they may."""
    who, asker = asked.person, asked.recorded_by
    checks = [
        (by == who, "It is your own account.", "Let somebody else confirm it."),
        (by == asker, "You asked for it.", "A second person confirms it, so that no one person can open an account."),
        (
            by != who and not may_open_for(by, who),
            f"You do not stand as high as {who} at {who.home_site}.",
            "Let somebody with the same post or a higher one confirm it, at every site where that post is held.",
        ),
        (asked.steps.filter(step=Step.CONFIRMED).exists(), "It is confirmed already.", "Ask anew if the code is lost."),
        (is_over(asked), f"It waited for more than {WAITS.days} days, and is over.", "Let it be asked for anew."),
    ]
    return [Refusal(says, supply) for wrong, says, supply in checks if wrong]


@transaction.atomic
def confirm_recovery(
    asked: AccountRecovery, *, by: Person | None, way: str, proved: str, address: str, id: UUID | None = None
) -> str:
    """The second person, who proved who they are, lets the code go to its owner. `address` is the page of a code, with {code}
    in it. Returns the code for a slip; empty where it was mailed: then nobody but its owner sees it."""
    person = asked.person
    refuse_if(
        *(refusals_to_confirm(asked, by) if by else []),
        Refusal("There is no address to which a code may be mailed.", "Print the slip.", "way")
        if way == Way.MAIL and not mailable(person)
        else None,
    )
    fact = step_of(person, Step.CONFIRMED, id, asking=asked, way=way, proved=proved, factor_lost=asked.factor_lost)
    code = new_code(person.account, by=by, until=clock.now() + CODE_LASTS, recovery=record(fact, by=by))
    tell_owner(person, f"{by or 'Somebody at the register’s own computer'} confirmed that your account is opened anew.")
    if way == Way.MAIL:
        mail_code(person, address.replace("{code}", code))
        return ""
    return code


def mailable(person: Person) -> str:
    """The address a code may go to: one that has stood for a week, so that nobody can enter their own today."""
    since = clock.now() - ADDRESS_STANDS
    rows = Change.objects.filter(about="clinic.person", about_id=str(person.pk), recorded_at__gt=since)
    moved = any(row.before and row.before.get("email", "") != row.after.get("email", "") for row in rows)
    return person.email if settings.EMAIL_HOST and not moved else ""


def mail_code(person: Person, link: str) -> None:
    words = (
        f"{person.given_name}, choose a new password for the register of {person.home_site.name}:\n\n{link}\n\n"
        f"The address is good for {CODE_LASTS.total_seconds() / 3600:.0f} hours and for one use.\n"
    )
    try:
        send_mail("A new password for the register", words, None, [person.email])
    except (OSError, SMTPException) as error:
        logger.warning("The code of a recovery could not be mailed: %s", error)
        refused = Refusal(f"The mail to {person.email} did not leave. Nothing was confirmed.", "Print the slip.", "way")
        raise Refused(refused) from error


def use_recovery(confirmed: AccountRecovery) -> AccountRecovery:
    """The owner of the account chose a new password with the code. Called in the transaction that sets it."""
    asked = confirmed.asking
    if confirmed.factor_lost:
        lose_all(confirmed.person.account)
    used = record(
        step_of(confirmed.person, Step.USED, asking=asked, factor_lost=confirmed.factor_lost), by=confirmed.person
    )
    tell_owner(confirmed.person, "A new password was chosen for your account. Every session before it was ended.")
    return used


def told_since(person: Person, since: datetime) -> list[str]:
    """What was done to open this person's account anew, newest first, in sentences."""
    rows = AccountRecovery.objects.filter(person=person, recorded_at__gte=since).select_related(
        "recorded_by", "site", "asking"
    )
    return [said(row) for row in rows.order_by("-recorded_at")]


def said(row: AccountRecovery) -> str:
    return f"{instant_words(clock.local(row.recorded_at, row.site.time_zone))}: {what_was_done(row)}."
