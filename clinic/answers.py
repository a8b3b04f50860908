"""Answers to a page that may send by script: as data where it asks for data, as the usual redirect where it does not."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import urlencode

from clinic.models import Person, Site

DATA = "application/json"
FOUND = 302


def wants_data(request: HttpRequest) -> bool:
    """Whether a script sent this, and waits for data instead of a page."""
    return DATA in request.headers.get("Accept", "")


def gone(request: HttpRequest, to: str) -> HttpResponse:
    """It is recorded: go there. A script that gets no answer sends the same again."""
    return JsonResponse({"go": to}) if wants_data(request) else redirect(to)


class AnswersScripts:
    """A form that a script sent is answered by where to go, also by a view that knows nothing of scripts. A way to a proof is
    no answer: then nothing is recorded, and the script keeps what it has."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if request.method != "POST" or not wants_data(request) or response.status_code != FOUND:
            return response
        to = response.headers["Location"]
        if to.startswith((reverse("clinic:sign_in"), reverse("clinic:unlock"))):
            return response
        answer = JsonResponse({"go": to})
        answer.cookies = response.cookies
        return answer


def kept_under(request: HttpRequest, site: Site, by: Person, who: str = "", what: str = "") -> dict[str, Any]:
    """What a tablet keeps beside the words typed into a form, for its way back to this page. `answered`: the page shows
    what it was sent, and nothing is to be put back into it. Where nobody says `who` and `what`, the page's own title does."""
    here = request.get_full_path()
    return {
        "site": site.code,
        "observer": str(by.pk),
        "address": here,
        "who": who,
        "what": what,
        "unlock": f"{reverse('clinic:unlock')}?{urlencode({'next': here})}",
        "answered": request.method == "POST",
    }


def refusals_in(form: forms.BaseForm) -> JsonResponse:
    """Every refusal in words, and each again by the field it belongs to."""
    words = {name: list(errors) for name, errors in form.errors.items()}
    return JsonResponse({"refusals": [each for found in words.values() for each in found], "fields": words}, status=422)
