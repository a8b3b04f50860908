"""Who asks: the person behind the request, what they may, and the lock of a tablet that lay idle."""

from collections.abc import Callable
from urllib.parse import urlencode

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from clinic import clock
from clinic.permissions import Allowed

LAST_SEEN = "last_seen"
OPEN_TO_ALL = ("clinic:sign_in", "clinic:sign_out", "clinic:unlock")


class WhoAsks:
    """Adds `request.allowed` (None for a stranger). A session idle for too long must prove itself again (row A-08)."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.allowed = None
        if request.user.is_authenticated:
            if self.lay_idle(request) and request.path not in map(reverse, OPEN_TO_ALL):
                return redirect(f"{reverse('clinic:unlock')}?{urlencode({'next': request.get_full_path()})}")
            request.session[LAST_SEEN] = clock.now().timestamp()
            request.allowed = Allowed(request.user.person)
        response = self.get_response(request)
        if request.user.is_authenticated:
            response.headers.setdefault("Cache-Control", "no-store")
        return response

    def lay_idle(self, request: HttpRequest) -> bool:
        seen = request.session.get(LAST_SEEN)
        return seen is not None and clock.now().timestamp() - seen > settings.IDLE_LOCK_SECONDS
