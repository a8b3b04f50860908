"""Signing in and out, unlocking a tablet, choosing a password by invitation."""

from typing import Any

from django.contrib import messages
from django.contrib.auth import SESSION_KEY, logout
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme, urlencode
from django.views.decorators.http import require_POST

from clinic import lock, pins, sessions
from clinic.accounts import open_invitation
from clinic.actions.invitations import accept
from clinic.forms.accounts import ChoosePassword, Paused, SignIn
from clinic.forms.pins import ByPin
from clinic.guessing import place_of
from clinic.lock import SIGNED_IN
from clinic.record import Refused
from clinic.signing_in import let_in


class SignInView(LoginView):
    """By name and password, and what is asked after them. The session gets a new id, and its clocks start (clinic.lock)."""

    template_name = "clinic/sign_in.html"
    authentication_form = SignIn
    redirect_authenticated_user = False

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Without the names of the host, which Django adds as `site`: here that word is a site of the practice."""
        here = pins.counting(place_of(self.request).device)
        shown = super().get_context_data(**kwargs) | {"by_pin": ByPin(here) if here else None}
        return {name: value for name, value in shown.items() if name not in ("site", "site_name")}

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        try:
            return super().post(request, *args, **kwargs)
        except Paused:
            return render(request, "clinic/locked_out.html", status=429)

    def form_valid(self, form: Any) -> HttpResponse:
        return let_in(self.request, form.get_user(), self.get_success_url())


class UnlockView(SignInView):
    """Whoever unlocks their own session goes on in it, and it ends when it would have; anybody else begins a new one.
    What was proved after the password when it began is not asked again."""

    template_name = "clinic/unlock.html"

    def form_valid(self, form: Any) -> HttpResponse:
        session = self.request.session
        signed_in = session.get(SIGNED_IN) if session.get(SESSION_KEY) == str(form.get_user().pk) else None
        if signed_in is None:
            return super().form_valid(form)
        response = LoginView.form_valid(self, form)
        session[SIGNED_IN] = signed_in
        session.cycle_key()
        sessions.follow(self.request)
        pins.password_again(form.get_user(), place_of(self.request).device)
        return response


sign_in = SignInView.as_view()
unlock = UnlockView.as_view()


@require_POST
def awake(request: HttpRequest) -> HttpResponse:
    """A page that holds the session was touched by its person. Says in how many seconds it locks."""
    if request.allowed is None:
        return redirect("clinic:sign_in")
    lock.stay(request.session)
    return JsonResponse({"seconds": lock.seconds_left(request.session)})


@require_POST
def lock_now(request: HttpRequest) -> HttpResponse:
    """Whoever leaves the tablet for a moment locks it; the proof leads back to the page that was open."""
    if request.allowed is None:
        return redirect("clinic:sign_in")
    lock.lock(request.session)
    return redirect(f"{reverse('clinic:unlock')}?{urlencode({'next': safe_next(request, reverse('clinic:home'))})}")


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """The day's session on this device is over, also for a PIN."""
    pins.signed_out(request.session.get(SESSION_KEY), place_of(request).device)
    logout(request)
    return redirect("clinic:sign_in")


def home(request: HttpRequest) -> HttpResponse:
    """Today, at the home site."""
    if request.allowed is None:
        return redirect("clinic:sign_in")
    sites = request.allowed.sites
    if not sites:
        return render(request, "clinic/no_site.html")
    return redirect("training:today", site=sites[0].code)


def invitation(request: HttpRequest, code: str) -> HttpResponse:
    """Choose a password with the code of a slip or a mail; then sign in with it."""
    found = open_invitation(code)
    if found is None:
        return render(request, "clinic/invitation_over.html", status=410)
    form = ChoosePassword(found.account, request.POST or None)
    if form.is_valid():
        try:
            account = accept(found, form.cleaned_data["new_password1"])
        except Refused:
            return render(request, "clinic/invitation_over.html", status=410)
        messages.success(request, "Your password is set. Keep it to yourself: it is how you sign.")
        return let_in(request, account, reverse("clinic:home"))
    return render(request, "clinic/invitation.html", {"form": form, "account": found.account})


def safe_next(request: HttpRequest, otherwise: str) -> str:
    """Where to go on to, never to another host."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    return wanted if url_has_allowed_host_and_scheme(wanted, {request.get_host()}, request.is_secure()) else otherwise
