"""Signing in and out, unlocking a tablet, choosing a password by invitation."""

from typing import Any

from django.contrib import messages
from django.contrib.auth import login, logout
from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views.decorators.http import require_POST

from clinic import clock
from clinic.accounts import accept, open_invitation
from clinic.forms.accounts import ChoosePassword, SignIn
from clinic.middleware import LAST_SEEN
from clinic.record import Refused


class SignInView(LoginView):
    """By name and password. The session gets a new id, and its idle clock starts."""

    template_name = "clinic/sign_in.html"
    authentication_form = SignIn
    redirect_authenticated_user = False

    def form_valid(self, form: Any) -> HttpResponse:
        response = super().form_valid(form)
        self.request.session[LAST_SEEN] = clock.now().timestamp()
        return response


sign_in = SignInView.as_view()
unlock = SignInView.as_view(template_name="clinic/unlock.html")


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
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
        login(request, account, backend="clinic.accounts.AtWork")
        messages.success(request, "Your password is set. Keep it to yourself: it is how you sign.")
        return redirect(reverse("clinic:home"))
    return render(request, "clinic/invitation.html", {"form": form, "account": found.account})


def safe_next(request: HttpRequest, otherwise: str) -> str:
    """Where to go on to, never to another host."""
    wanted = request.POST.get("next") or request.GET.get("next") or ""
    return wanted if url_has_allowed_host_and_scheme(wanted, {request.get_host()}, request.is_secure()) else otherwise
