"""Answers to a page that may send by script: as data where it asks for data, as the usual redirect where it does not."""

from django import forms
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect

DATA = "application/json"


def wants_data(request: HttpRequest) -> bool:
    """Whether a script sent this, and waits for data instead of a page."""
    return DATA in request.headers.get("Accept", "")


def gone(request: HttpRequest, to: str) -> HttpResponse:
    """It is recorded: go there. A script that gets no answer sends the same again."""
    return JsonResponse({"go": to}) if wants_data(request) else redirect(to)


def refusals_in(form: forms.BaseForm) -> JsonResponse:
    """Every refusal in words, and each again by the field it belongs to."""
    words = {name: list(errors) for name, errors in form.errors.items()}
    return JsonResponse({"refusals": [each for found in words.values() for each in found], "fields": words}, status=422)
