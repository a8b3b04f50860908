"""PINs: choosing and ending one's own, coming in by one, and leaving the tablet to the next."""

from datetime import UTC, datetime
from uuid import UUID

from django.contrib import messages
from django.contrib.auth import SESSION_KEY, logout
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from clinic import pins
from clinic.accounts import prove_oneself
from clinic.actions.pins import choose_pin, end_pins
from clinic.doors import for_oneself
from clinic.factors import PROVED
from clinic.forms.accounts import SignIn
from clinic.forms.base import add_refusals
from clinic.forms.pins import ByPin, ChoosePin
from clinic.guessing import place_of
from clinic.lock import SIGNED_IN
from clinic.record import Refused
from clinic.signing_in import open_by_pin
from clinic.views.accounts import safe_next
from clinic.views.own_account import own


@for_oneself
def pin_choose(request: HttpRequest) -> HttpResponse:
    """Six digits for this device, after the password. They count as long as this session would have lasted."""
    mine, at = own(request), place_of(request)
    form = ChoosePin(request.POST or None)
    if form.is_valid():
        given = form.cleaned_data
        try:
            prove_oneself(mine, given["password"], at=at)
            choose_pin(
                mine, given["pin"], device=at.device, browser=request.META.get("HTTP_USER_AGENT", ""),
                opened_at=datetime.fromtimestamp(request.session[SIGNED_IN], UTC),
                second=request.session.get(PROVED, ""), id=form.fact_id,
            )  # fmt: skip
        except Refused as refused:
            add_refusals(form, refused)
        else:
            request.session[pins.HAS_PIN] = True
            messages.success(request, "Your PIN is chosen. It counts on this device, after your password each day.")
            return redirect("clinic:account")
    return render(request, "clinic/account/pin.html", {"form": form})


@for_oneself
@require_POST
def pin_end(request: HttpRequest, pin: UUID) -> HttpResponse:
    """End one's own. Ended already, it is ended."""
    mine = own(request)
    end_pins(mine, mine.pins.filter(pk=pin), "its owner ended it")
    request.session[pins.HAS_PIN] = pins.on_device(place_of(request).device).filter(account=mine).exists()
    messages.success(request, "That PIN is ended.")
    return redirect("clinic:account")


@require_POST
def by_pin(request: HttpRequest) -> HttpResponse:
    """Somebody whose PIN counts on this device comes in, or goes on in the session that locked itself. Back to where the page
    says; a stranger's device has no PIN."""
    device = place_of(request).device
    form = ByPin(pins.counting(device), request.POST)
    if form.is_valid():
        row, site = form.cleaned_data["who"], form.cleaned_data["who"].account.person.home_site
        if pins.try_pin(row, form.cleaned_data["pin"], device, site):
            return open_by_pin(request, row, safe_next(request, reverse("clinic:home")))
        form = ByPin(pins.counting(device), request.POST)
        form.add_error("pin", "That is not the PIN. After five wrong tries it counts no more until the password.")
    shown = {"by_pin": form, "form": SignIn(request), "next": safe_next(request, "")}
    return render(request, "clinic/unlock.html" if SESSION_KEY in request.session else "clinic/sign_in.html", shown)


@require_POST
def change_person(request: HttpRequest) -> HttpResponse:
    """Whoever was here leaves the tablet to the next. Nothing of them stays; their own PIN lets them come back today."""
    logout(request)
    return redirect("clinic:sign_in")
