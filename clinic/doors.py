"""The doors of pages: nobody gets to a view without being asked who they are and what they may do at that site.

Not your site: it does not exist (404). Your site, but not for you: a sentence that says whom to ask (403).
"""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone

from clinic import clock
from clinic.permissions import WHOM_TO_ASK, May
from clinic.record import NotAllowed
from clinic.site_days import days_of

View = Callable[..., HttpResponse]


def door(*any_of: May) -> Callable[[View], View]:
    """`view(request, site, …)` opens for whoever may do at least one of these at the site named in the address."""

    def with_door(view: View) -> View:
        @wraps(view)
        def opened(request: HttpRequest, site: str, **kwargs: Any) -> HttpResponse:
            if request.allowed is None:
                return redirect_to_login(request.get_full_path())
            here = next((each for each in request.allowed.sites if each.code == site), None)
            if here is None:
                raise Http404("No such site, or not yours.")
            if not any(request.allowed.may(verb, here) for verb in any_of):
                raise PermissionDenied(WHOM_TO_ASK[any_of[0]])
            request.site = here
            request.today = clock.today(here.time_zone)
            try:
                with timezone.override(here.time_zone), days_of(here):  # every instant and day is the site's
                    return view(request, here, **kwargs)
            except NotAllowed as refused:  # the last word is the action's
                raise PermissionDenied(refused.says) from refused

        opened.any_of = frozenset(any_of)  # type: ignore[attr-defined]
        return opened

    return with_door


def for_oneself(view: View) -> View:
    """`view(request, …)` opens for whoever is signed in, and is about their own account only."""

    @wraps(view)
    def opened(request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if request.allowed is None:
            return redirect_to_login(request.get_full_path())
        with timezone.override(request.allowed.person.home_site.time_zone):
            return view(request, **kwargs)

    return opened


def must(request: HttpRequest, verb: May) -> None:
    """For a view whose door is wider than one of its acts."""
    if not request.allowed.may(verb, request.site):
        raise PermissionDenied(WHOM_TO_ASK[verb])
