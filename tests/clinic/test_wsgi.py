"""The register behind its server: what the test client does not go through."""

from typing import Any

import pytest
from django.test import RequestFactory

from clinic.wsgi import application


def asked(method: str) -> tuple[dict[str, str], bytes]:
    """Headers and body of the sign-in page."""
    kept: dict[str, str] = {}

    def start_response(status: str, headers: list[tuple[str, str]], *more: Any) -> None:
        kept.update(headers)

    body = application(RequestFactory().generic(method, "/sign-in/").environ, start_response)
    return kept, b"".join(body)


@pytest.mark.django_db
def test_an_answer_to_head_has_headers_and_no_body() -> None:
    """RFC 9110, 9.3.2 (V): a body would be read as the start of the next answer on the same connection."""
    (headers, body), (_, whole) = asked("HEAD"), asked("GET")
    assert (body, whole[:15]) == (b"", b"<!doctype html>")
    assert headers["Content-Type"] == "text/html; charset=utf-8" and int(headers["Content-Length"]) > 0
