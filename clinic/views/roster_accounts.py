"""Accounts of the roster: invitations, lost devices, and the yearly review."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from clinic.accounts import INVITATION_LASTS, mail_invitation
from clinic.actions.people import open_account
from clinic.actions.recovery import is_over
from clinic.actions.roster import close_account, open_again, sign_out_everywhere
from clinic.doors import door
from clinic.forms.base import add_refusals
from clinic.forms.roster import IdentityCheck
from clinic.models import Account, AccountRecovery, Site
from clinic.network import for_others
from clinic.permissions import SOURCES, May
from clinic.record import NotAllowed, Refused, only_if_allowed
from clinic.rights import against_change
from clinic.rules.words import counted
from clinic.views.roster import of_site


@door(May.ROSTER)
def invite(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    """Opens the account where there is none. The code is shown once, on the page that answers; only its digest is kept."""
    who = of_site(site, person)
    only_if_allowed(against_change(request.allowed.person, who, site))
    known = Account.objects.filter(person=who).first()
    if known and known.has_usable_password():
        return redirect("clinic:recovery_ask", site=site.code, person=who.pk)
    form = IdentityCheck(request.POST if request.method == "POST" else None, known=known.sign_in_name if known else "")
    if not form.is_valid():
        return render(request, "clinic/roster/invite.html", {"form": form, "person": who, "account": known})
    try:
        account, code = open_account(
            who, by=request.allowed.person, identity_checked=form.cleaned_data.get("identity_checked", "")
        )
    except Refused as refused:
        add_refusals(form, refused)
        return render(request, "clinic/roster/invite.html", {"form": form, "person": who, "account": known})
    link, here_only = for_others(request, reverse("clinic:invitation", kwargs={"code": code}))
    mailed = mail_invitation(account, link)
    shown = {
        "person": who,
        "account": account,
        "code": code,
        "link": link,
        "here_only": here_only,
        "days": INVITATION_LASTS.days,
        "mailed": mailed,
    }
    return render(request, "clinic/roster/invited.html", shown)


@door(May.ROSTER)
def end_sessions(request: HttpRequest, site: Site, person: UUID) -> HttpResponse:
    """A page that asks, and the act."""
    who = of_site(site, person)
    only_if_allowed(against_change(request.allowed.person, who, site))
    account = get_object_or_404(Account, person=who)
    if request.method == "POST":
        ended = sign_out_everywhere(account, at=site, by=request.allowed.person)
        messages.success(
            request,
            f"{who} is signed out everywhere ({counted(ended, 'session')} ended). Ask for a new password if somebody else may know it.",
        )
        return redirect("clinic:person_change", site=site.code, person=who.pk)
    return render(request, "clinic/roster/end_sessions.html", {"person": who})


@door(May.ROSTER)
def account_review(request: HttpRequest, site: Site) -> HttpResponse:
    """Accounts of this site's people, those without anybody at work first (row E-25)."""
    busy = at_work(request, site)
    accounts = list(Account.objects.filter(person__home_site=site).select_related("person").order_by("sign_in_name"))
    asked = AccountRecovery.objects.filter(site=site, step=AccountRecovery.Step.ASKED).select_related("person")
    return render(request, "clinic/roster/account_review.html", {
        "waiting": [each for each in asked.exclude(steps__isnull=False) if not is_over(each)],
        "idle": [account for account in accounts if account.is_active and account.person_id not in busy],
        "open": [account for account in accounts if account.is_active and account.person_id in busy],
        "closed": [account for account in accounts if not account.is_active],
    })  # fmt: skip


def at_work(request: HttpRequest, site: Site) -> set[UUID]:
    """Whoever may do anything at any site today: a job role, a post, authority, or a pass to a binder."""
    verbs, days = (May.OWN_RECORD, May.READ_BINDER), request.allowed.days
    keys = {
        key for each in request.allowed.every_site for verb in verbs for source in SOURCES
        for key in source.backward(verb, each, days[each.pk])
    }  # fmt: skip
    left = Account.objects.filter(person__last_day__lt=request.today).values_list("person", flat=True)
    return keys - set(left)


@door(May.ROSTER)
@require_POST
def account_close(request: HttpRequest, site: Site, account: int) -> HttpResponse:
    """Closes an open account, or opens a closed one again, as the button said: sent again, it is done already."""
    row = get_object_or_404(Account.objects.select_related("person"), pk=account, person__home_site=site)
    if row.person_id == request.allowed.person.pk:
        messages.warning(request, "You cannot close your own account. Let another coordinator or the owner do it.")
    elif request.POST.get("act") == ("close" if row.is_active else "open"):
        close_or_open(request, site, row)
    else:
        messages.info(
            request, f"The account of {row.person} is {'open' if row.is_active else 'closed'}. Nothing changed."
        )
    return redirect("clinic:account_review", site=site.code)


def close_or_open(request: HttpRequest, site: Site, row: Account) -> None:
    """Does it, and says so; or says why not."""
    try:
        if row.is_active:
            ended = close_account(row, at=site, by=request.allowed.person)
            messages.success(request, f"The account of {row.person} is closed ({counted(ended, 'session')} ended).")
        else:
            open_again(row, at=site, by=request.allowed.person)
            messages.success(request, f"The account of {row.person} is open again.")
    except NotAllowed:
        raise
    except Refused as refused:
        for each in refused.refusals:
            messages.warning(request, f"{each.says} {each.supply}")
