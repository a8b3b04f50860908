"""What the training room does around every request."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from training.waiting import asked_once


class AsksOnceWhatWaits:
    """Whether stored timelines wait is asked at most once for a page."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with asked_once():
            return self.get_response(request)
