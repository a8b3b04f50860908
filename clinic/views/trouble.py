"""What is answered where the register could not answer: in words where the database is the cause."""

import sys

from django.http import HttpRequest, HttpResponse
from django.views.defaults import server_error

from clinic.cannot_write import answer, why


def could_not_answer(request: HttpRequest) -> HttpResponse:
    """Django asks this for any exception that nothing else caught, while it is being handled."""
    says = why(sys.exc_info()[1])
    return answer(request, says) if says else server_error(request)
