"""Who asks: the person behind the request, what they may, and the lock of a tablet that lay idle."""

import logging
from collections.abc import Callable
from functools import lru_cache
from typing import Any
from urllib.parse import unquote, urlencode

from django.contrib.auth import logout
from django.contrib.auth.models import AnonymousUser
from django.contrib.messages import get_messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import get_script_prefix, reverse

from clinic import cannot_write, factors, lock
from clinic.permissions import Allowed
from clinic.record import Refused
from clinic.views.trouble import not_read

log = logging.getLogger(__name__)
# Where a proof is given, and where a session is left. They neither open a locked session nor keep an open one awake.
OPEN_TO_ALL = (
    "clinic:sign_in",
    "clinic:second_factor",
    "clinic:sign_out",
    "clinic:unlock",
    "clinic:by_pin",
    "clinic:change_person",
)
# Where a page says that it was touched: how far that keeps the session awake is asked there.
COUNTS_ITSELF = ("clinic:awake",)


@lru_cache(maxsize=8)
def paths(names: tuple[str, ...], prefix: str) -> frozenset[str]:
    """The addresses of pages by their names, below the prefix that the register is served under."""
    return frozenset(map(reverse, names))


class CanBeRead:
    """An address with a letter that no database can keep (NUL) is answered in words, before anything looks it up. In a
    form, its field says so."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if "\0" in unquote(request.get_full_path()):
            return not_read(request)
        return self.get_response(request)


class CannotWrite:
    """What a view could not record, because the database takes nothing just now or because the action refuses it and the
    page has no place to say so, is said in words and kept in its form."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, wrong: Exception) -> HttpResponse | None:
        if isinstance(wrong, Refused):
            return cannot_write.refused(request, wrong)
        says = cannot_write.why(wrong)
        if not says:
            return None
        log.error("%s %s: %s", request.method, request.path, wrong)
        return cannot_write.answer(request, says)


class WhoAsks:
    """Adds `request.allowed` (None for a stranger), and whether nothing but their own account is open to them, until they add
    the second factor that their post needs. A locked session is a stranger's until its person, or somebody else,
    proves who they are (row A-08)."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.allowed, request.confined = None, False
        somebodys = request.user.is_authenticated
        response = self.answer(request, request.path in paths(OPEN_TO_ALL, get_script_prefix()), somebodys)
        if somebodys or request.user.is_authenticated:
            response.headers.setdefault("Cache-Control", "no-store")
        return response

    def answer(self, request: HttpRequest, is_open: bool, somebodys: bool) -> HttpResponse:
        if somebodys and lock.is_over(request.session):
            logout(request)
        elif somebodys and lock.is_locked(request.session):
            shut(request)
            if not is_open:
                return to_unlock(request)
        elif somebodys:
            if not is_open and request.path not in paths(COUNTS_ITSELF, get_script_prefix()):
                lock.touch(request.session)
            account: Any = request.user
            request.allowed = Allowed(account.person)
            request.confined = not is_open and factors.is_confined(request, account)
            if request.confined and not request.path.startswith(reverse("clinic:account")):
                return redirect("clinic:account")
        return self.get_response(request)


def shut(request: HttpRequest) -> None:
    """From here on nobody is signed in for this request, and nothing waits to be told to whoever looks."""
    lock.lock(request.session)
    request.user = AnonymousUser()
    list(get_messages(request))


def to_unlock(request: HttpRequest) -> HttpResponse:
    """To the proof, and from there back to the page that was open."""
    return redirect(f"{reverse('clinic:unlock')}?{urlencode({'next': request.get_full_path()})}")
