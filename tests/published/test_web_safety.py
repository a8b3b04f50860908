"""Rows of OWASP ASVS 5.0.0 (V, own wording in the handbook, part 7.1) that no other test holds; by their ids beside each."""

import os
import subprocess
import sys
from http.cookies import SimpleCookie
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.contrib.auth.password_validation import validate_password
from django.test import Client
from django.urls import reverse

from clinic import clock
from clinic import settings as real
from clinic.models import Use
from tests.cast import PASSWORD, Cast
from tests.house.sources import ROOT

pytestmark = [pytest.mark.django_db, pytest.mark.one_database]
LANE = "millbrook-lane"
SAID = """<b>O'Brien; -- {{7*7}} {% now "Y" %}"""
DEPLOYED = """
import django; django.setup()
from django.conf import settings
from django.core.management import call_command
from django.test import Client
call_command("check", deploy=True, fail_level="WARNING")
answer = Client(raise_request_exception=False).get("/no-such-site-file.txt", secure=True, HTTP_HOST="localhost")
print(answer.headers.get("Strict-Transport-Security"), settings.SESSION_COOKIE_NAME, settings.SESSION_COOKIE_SECURE,
      settings.CSRF_COOKIE_SECURE, settings.DEBUG)
"""


def sign_in(cast: Cast, password: str = PASSWORD, client: Client | None = None) -> Client:
    client = client or Client()
    client.post("/sign-in/", {"username": cast.assistant.account.sign_in_name, "password": password})
    return client


def is_in(client: Client) -> bool:
    return bool(client.get(f"/{LANE}/today/").status_code == 200)


def test_behind_https_the_deployment_check_is_clean(tmp_path: Path) -> None:
    """3.3.1, 3.3.3, 3.4.1, 13.4.2: a secure cookie with the prefix that binds it to its host, HSTS of a year with all names below,
    no pages for developers; and the framework's own check of a deployment has nothing to say."""
    kept = {
        name: words for name, words in os.environ.items() if not name.startswith(("MILLROOM", "DATABASE", "DJANGO"))
    }
    known = kept | {
        "MILLROOM_VAR": str(tmp_path), "MILLROOM_HTTPS": "yes", "MILLROOM_HOSTS": "localhost",
        "DJANGO_SETTINGS_MODULE": "clinic.settings",
    }  # fmt: skip
    done = subprocess.run([sys.executable, "-c", DEPLOYED], cwd=ROOT, env=known, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert done.stdout.strip().splitlines()[-1] == "max-age=31536000; includeSubDomains __Host-register True True False"


def test_every_answer_says_what_a_browser_may_do(cast: Cast) -> None:
    """3.4.3 to 3.4.6."""
    sent = Client().get("/sign-in/").headers
    policy = sent["Content-Security-Policy"]
    wanted = ("object-src 'none'", "base-uri 'none'", "frame-ancestors 'none'", "form-action 'self'")
    assert [part for part in wanted if part not in policy] == [] and "unsafe" not in policy
    assert (sent["X-Content-Type-Options"], sent["Referrer-Policy"]) == ("nosniff", "same-origin")


def test_cookies_are_for_this_site_and_out_of_reach_of_scripts(cast: Cast) -> None:
    """3.3.2, 3.3.4."""
    session: Any = SimpleCookie(sign_in(cast).cookies.output(header=""))["register"]
    assert (session["httponly"], session["samesite"]) == (True, "Lax")


def test_a_form_of_another_page_is_refused(cast: Cast) -> None:
    """3.5.1."""
    assert Client(enforce_csrf_checks=True).post("/sign-in/", {"username": "a", "password": "b"}).status_code == 403


def test_what_was_typed_is_shown_as_typed(cast: Cast, signed_in: Any) -> None:
    """1.2.1, 1.2.4, 1.3.7: neither markup, nor a statement to the database, nor a template."""
    said = {"what": SAID, "place": "Red folder", "keeper": "Bram", "submission": str(uuid4())}
    client = signed_in(cast.coordinator)
    client.post(reverse("training:elsewhere", args=[LANE]), said)
    page = client.get(reverse("training:audit", args=[LANE])).content.decode()
    assert "&lt;b&gt;O&#x27;Brien; -- {{7*7}} {% now &quot;Y&quot; %}" in page and SAID not in page


def test_a_file_says_its_kind_its_letters_and_a_name_of_our_own(cast: Cast, signed_in: Any) -> None:
    """4.1.1, 5.4.1, 5.4.2."""
    sent = signed_in(cast.coordinator).get(reverse("clinic:roster_export", args=[LANE])).headers
    assert sent["Content-Type"] == "text/csv; charset=utf-8"
    assert sent["Content-Disposition"].startswith(f'attachment; filename="roster-{LANE}-')


def test_a_sign_in_begins_a_session_of_its_own(cast: Cast) -> None:
    """7.2.4: the number that somebody gave a visitor names no session after, and another sign-in has another."""
    given = Client()
    given.cookies["register"] = "0123456789abcdefghijklmnopqrstuv"
    numbers = {sign_in(cast, client=client).cookies["register"].value for client in (given, Client())}
    assert len(numbers | {"0123456789abcdefghijklmnopqrstuv"}) == 3 and is_in(given)


def test_whoever_signs_out_is_out_with_the_old_cookie_too(cast: Cast) -> None:
    """7.4.1, 7.4.4: each page has the way out, and the server forgets."""
    client = sign_in(cast)
    kept = client.cookies["register"].value
    assert reverse("clinic:sign_out") in client.get(f"/{LANE}/today/").content.decode()
    client.post(reverse("clinic:sign_out"))
    other = Client()
    other.cookies["register"] = kept
    assert not is_in(client) and not is_in(other)


def test_a_password_is_taken_letter_by_letter(cast: Cast) -> None:
    """6.2.8, 6.2.9: neither trimmed, nor folded, nor cut; a hundred and more are taken."""
    assert not any(is_in(sign_in(cast, wrong)) for wrong in (f"{PASSWORD} ", PASSWORD.title(), PASSWORD[:-1]))
    long = " ".join(f"{n} herons over the weir" for n in range(2, 9))
    validate_password(long, cast.assistant.account)
    cast.assistant.account.set_password(long)
    cast.assistant.account.save()
    assert not is_in(sign_in(cast, long[:-1])) and is_in(sign_in(cast, long))


def test_no_script_keeps_a_password_from_being_pasted() -> None:
    """6.2.7."""
    scripts = list((ROOT / "clinic" / "static").rglob("*.js"))
    assert scripts and [path.name for path in scripts if "paste" in path.read_text()] == []


def test_passwords_are_kept_by_a_slow_hash() -> None:
    """11.4.2. The tests themselves run with a quick one."""
    assert real.PASSWORD_HASHERS[0] == "django.contrib.auth.hashers.Argon2PasswordHasher"


def test_a_field_that_no_form_has_is_not_heard(cast: Cast, signed_in: Any) -> None:
    """8.2.3, 15.3.3: neither who recorded it, nor when, nor where can be sent along."""
    day = clock.today("UTC").isoformat()
    more = {
        "recorded_by": str(cast.owner.person.pk),
        "recorded_at": "2020-01-01",
        "site": cast.court.pk,
        "is_staff": "1",
    }
    said = {"submission": str(uuid4()), "units": "3", "day": day} | more
    signed_in(cast.assistant).post(reverse("clinic:use", args=[LANE, cast.unit.pk]), said)
    row = Use.objects.get()
    assert (row.recorded_by, row.site, row.recorded_at.year > 2020) == (cast.assistant.person, cast.lane, True)


def test_a_page_that_breaks_tells_nothing_of_the_code(cast: Cast, signed_in: Any, monkeypatch: Any) -> None:
    """16.5.1."""

    def breaks(*args: Any, **more: Any) -> None:
        raise RuntimeError("where it broke")

    monkeypatch.setattr("clinic.views.upkeep_use.uses_of", breaks)
    client = signed_in(cast.assistant)
    client.raise_request_exception = False
    answer = client.get(reverse("clinic:use", args=[LANE, cast.unit.pk]))
    assert answer.status_code == 500 and b"where it broke" not in answer.content
