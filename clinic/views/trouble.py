"""What is answered where the register could not answer: in words where the database is the cause."""

import sys

from django.core.exceptions import DisallowedHost
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.defaults import server_error

from clinic.cannot_write import answer, why


def not_read(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """400, in words. It may come before anybody knows who asks."""
    request.allowed = None  # type: ignore[attr-defined]
    unknown = request.META.get("HTTP_HOST", "") if isinstance(exception, DisallowedHost) else ""
    return render(request, "400.html", {"unknown": unknown}, status=400)


def could_not_answer(request: HttpRequest) -> HttpResponse:
    """Django asks this for any exception that nothing else caught, while it is being handled."""
    says = why(sys.exc_info()[1])
    return answer(request, says) if says else server_error(request)
