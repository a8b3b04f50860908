"""The register as users start it, and a Chromium that looks at it.

The server is a process of its own (`manage.py demo`) with its own var folder. What a page asks of another host
is not found and written down, and the test fails by it: the register works in a house without the internet.
"""

import os
import re
import selectors
import shutil
import sqlite3
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any

import pytest
from django.conf import settings
from django.contrib.sessions.serializers import JSONSerializer
from django.core import signing
from playwright.sync_api import Browser, BrowserContext, Page, Request, sync_playwright

from clinic.lock import LOCKED
from tests.house.sources import ROOT

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "google-chrome", "chromium-browser"))), None)
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-dev-shm-usage",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE localhost, EXCLUDE 127.0.0.1",  # no name of another host is found
]
# The one place that says how the server is started. It prints its address once it answers.
START = [sys.executable, "manage.py", "demo", "--port", "0"]
STARTS_WITHIN = 900  # seconds, beside the other halves of the run
ADDRESS = re.compile(r"https?://[\w.:\[\]-]+")
SALT = "django.contrib.sessions.SessionStore"  # of Django’s own, by the name of the class
TABLET = {"width": 820, "height": 1180}


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Browser tests say so, and run once: they look at a register of their own, which is the same beside either database."""
    here = Path(__file__).parent
    for item in items:
        if item.path.is_relative_to(here):
            item.add_marker(pytest.mark.browser)


@dataclass(frozen=True, slots=True)
class Register:
    """A running register: where it answers, what it printed at the start, and its var folder."""

    url: str
    printed: str
    var: Path


def unavailable(reason: str) -> None:
    """Skip, or fail where the run must be whole."""
    if os.environ.get("CI") == "true":
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(scope="session")
def register(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Register]:
    """The demo practice, served for the length of the run. Tests share it: let each use people of its own."""
    var = tmp_path_factory.mktemp("register")
    kept_out = {"DATABASE_URL", "DJANGO_SETTINGS_MODULE"}
    environment = {name: value for name, value in os.environ.items() if name not in kept_out}
    environment |= {"MILLROOM_VAR": str(var), "PYTHONUNBUFFERED": "1"}
    subprocess.run(
        [*START, "--no-serve"], cwd=ROOT, env=environment, check=True, capture_output=True
    )  # its binders too
    process = subprocess.Popen(
        START, cwd=ROOT, env=environment, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL
    )
    try:
        printed = until_it_answers(process)
        yield Register(ADDRESS.findall(printed)[-1].rstrip("/"), printed, var)
    finally:
        process.terminate()
        process.wait(20)


def until_it_answers(process: "subprocess.Popen[bytes]") -> str:
    """What the server printed up to and with its address. Raises with all of it when none comes."""
    printed, deadline = "", time.monotonic() + STARTS_WITHIN
    assert process.stdout is not None
    while time.monotonic() < deadline and not ADDRESS.search(printed):
        more = read_some(process.stdout)
        printed += more
        if not more and process.poll() is not None:
            break
    if not ADDRESS.search(printed):
        raise AssertionError(f"The register did not start within {STARTS_WITHIN} s. It printed:\n{printed}")
    return printed + read_some(process.stdout, within=2)


def read_some(out: IO[bytes], within: float = 1) -> str:
    with selectors.DefaultSelector() as waiting:
        waiting.register(out, selectors.EVENT_READ)
        return os.read(out.fileno(), 65536).decode("utf-8", "replace") if waiting.select(within) else ""


@pytest.fixture(scope="session")
def chromium() -> Iterator[Browser]:
    """One Chromium for the run."""
    if CHROMIUM is None:
        unavailable("No Chromium is installed: apt-get install chromium.")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def open_context(chromium: Browser, register: Register) -> Iterator[Callable[..., BrowserContext]]:
    """`open_context(viewport=TABLET)` is a fresh visitor. Requests to other hosts and faults of scripts fail the test."""
    complaints: list[str] = []
    contexts: list[BrowserContext] = []

    def context(**wishes: Any) -> BrowserContext:
        home = wishes.pop("base_url", register.url)
        wishes.setdefault("service_workers", "block")  # what a worker asks cannot be watched; its own test lets it in
        made = chromium.new_context(base_url=home, viewport=wishes.pop("viewport", TABLET), **wishes)
        tell_of_others(made, home, complaints)
        made.on("weberror", lambda error: complaints.append(f"script: {error.error}"))
        made.on("console", lambda said: complaints.extend(refused_by_policy(said.text)))
        contexts.append(made)
        return made

    yield context
    for each in contexts:
        each.close()
    assert complaints == []


def tell_of_others(context: BrowserContext, home: str, complaints: list[str]) -> None:
    """Write down what is asked of anybody but the register; the browser finds no other host (`FLAGS`)."""

    def told(request: Request) -> None:
        if not request.url.startswith((home, "data:", "blob:")):
            complaints.append(f"asked of another host: {request.url}")

    context.on("request", told)


def refused_by_policy(text: str) -> list[str]:
    return [f"policy: {text}"] if "Content Security Policy" in text else []


@pytest.fixture
def page(open_context: Callable[..., BrowserContext]) -> Page:
    """A page on a tablet."""
    return open_context().new_page()


@pytest.fixture(scope="session")
def kept_sessions() -> dict[tuple[str, str], Any]:
    """The cookies of whoever signed in, by register and name: a session is good for many tests, as for many pages."""
    return {}


@pytest.fixture
def sign_in(kept_sessions: dict[tuple[str, str], Any]) -> Callable[[Page, str, str], None]:
    """`sign_in(page, name, password)` goes on in the session of an earlier test while that is open, and otherwise signs in by
    the page, as people do. It leaves the page on one's own account."""

    def by_the_page(page: Page, name: str, password: str) -> None:
        page.goto("/account/")
        register = page.url.split("/sign-in/")[0]
        if cookies := kept_sessions.get((register, name)):
            page.context.add_cookies(cookies)
            page.goto("/account/")
            if page.url == f"{register}/account/":
                return
            page.context.clear_cookies()  # it was ended, or locked meanwhile
            page.goto("/account/")
        page.locator("input[name=username]").fill(name)
        page.locator("input[name=password]").fill(password)
        page.locator("input[name=password]").press("Enter")
        page.wait_for_url(lambda url: "/sign-in/" not in url)
        kept_sessions[register, name] = page.context.cookies()

    return by_the_page


@pytest.fixture
def lock(register: Register) -> Callable[[Page], None]:
    """`lock(page)`: as if its tablet had lain idle for five minutes."""

    def in_the_register(page: Page) -> None:
        key = next(each["value"] for each in page.context.cookies() if each["name"] == settings.SESSION_COOKIE_NAME)
        how = {"key": (register.var / "secret").read_text().strip(), "salt": SALT}
        with sqlite3.connect(register.var / "register.sqlite3", timeout=20) as database:
            asked = "select session_data from django_session where session_key = ?"
            data = signing.loads(database.execute(asked, [key]).fetchone()[0], serializer=JSONSerializer, **how)
            kept = signing.dumps(data | {LOCKED: True}, serializer=JSONSerializer, compress=True, **how)
            database.execute("update django_session set session_data = ? where session_key = ?", [kept, key])

    return in_the_register
