"""My account: who I am here, what proves it, where I am signed in, and what was done to it."""

from datetime import timedelta
from uuid import UUID

from django.contrib import messages
from django.contrib.auth import update_session_auth_hash
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from clinic import clock, factors, passkeys, pins, sessions
from clinic.accounts import prove_oneself
from clinic.actions.accounts import change_password
from clinic.actions.pins import end_pins
from clinic.doors import for_oneself
from clinic.forms.base import add_refusals
from clinic.forms.factors import ChangePassword
from clinic.guessing import place_of
from clinic.models import Account, Appointment, Person, Pin, RoleHeld
from clinic.models.people import holds_on
from clinic.reads.own_account import done_to
from clinic.record import Refused
from clinic.rules.devices import device_in_words
from clinic.rules.words import begun

TELLS_OF = timedelta(days=365)


@for_oneself
def account(request: HttpRequest) -> HttpResponse:
    """Everything about the account of whoever asks."""
    mine = own(request)
    living = list(factors.living(mine))
    return render(request, "clinic/account/account.html", {
        "account": mine,
        "posts": posts_of(mine.person),
        "factors": living,
        "codes": factors.codes_left(mine),
        "pins": [told(row, place_of(request).device) for row in mine.pins.all()],
        "takes_passkeys": passkeys.here(request) is not None,
        "sessions": sessions.of(mine, request),
        "done": done_to(mine, clock.now() - TELLS_OF),
    })  # fmt: skip


def told(row: Pin, device: str) -> dict[str, object]:
    """One PIN as its person reads it."""
    return {
        "row": row,
        "device": device_in_words(row.browser),
        "is_here": row in pins.on_device(device),
        "counts": pins.counts(row),
    }


def own(request: HttpRequest) -> Account:
    mine: Account = Account.objects.select_related("person__home_site").get(person=request.allowed.person)
    return mine


def posts_of(person: Person) -> list[str]:
    """Job roles and posts of today, each with its site, in words."""
    today = clock.today(person.home_site.time_zone)
    roles = RoleHeld.objects.held_on(today).filter(person=person).select_related("job_role", "site")
    posts = Appointment.objects.filter(holds_on(today), person=person).select_related("site")
    said = [(str(row.job_role), row.site) for row in roles] + [(row.get_post_display(), row.site) for row in posts]
    return [f"{begun(what)}, {site or 'every site'}" for what, site in said]


@for_oneself
def password_change(request: HttpRequest) -> HttpResponse:
    """Another password: the one until now is proved, and every other session ends."""
    mine = own(request)
    form = ChangePassword(mine, request.POST or None)
    if form.is_valid():
        try:
            prove_oneself(mine, form.cleaned_data["password"], at=place_of(request))
        except Refused as refused:
            add_refusals(form, refused)
        else:
            change_password(mine, form.cleaned_data["new_password1"])
            update_session_auth_hash(request, mine)
            sessions.follow(request)
            ended = sessions.end_others(mine, request)
            request.session[pins.HAS_PIN] = False
            messages.success(request, f"Your password is changed. Other sessions ended: {ended}.")
            return redirect("clinic:account")
    return render(request, "clinic/account/password.html", {"form": form})


@for_oneself
@require_POST
def session_end(request: HttpRequest, signed_in: UUID) -> HttpResponse:
    """End one session of one's own. Ended already, it is ended."""
    mine = own(request)
    row = get_object_or_404(mine.signed_in, pk=signed_in)
    if row.session_key == request.session.session_key:
        messages.warning(request, "That is the session you are in. To end it, sign out.")
    else:
        sessions.end(mine, row)
        end_pins(mine, mine.pins.filter(device=row.device).exclude(device=""), "its session was ended")
        messages.success(request, "That session is ended.")
    return redirect("clinic:account")


@for_oneself
@require_POST
def sessions_end_others(request: HttpRequest) -> HttpResponse:
    mine = own(request)
    ended = sessions.end_others(mine, request)
    end_pins(mine, mine.pins.exclude(pk__in=pins.on_device(place_of(request).device)), "every other session was ended")
    messages.success(request, f"Other sessions ended: {ended}. You are signed in here only.")
    return redirect("clinic:account")
