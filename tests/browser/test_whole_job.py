"""The whole job in a browser, as its users do it: from the roster to the binder, over two days, by five people."""

import io
import os
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect
from pypdf import PdfReader

from tests.browser.bench import begin, mark_all, send
from tests.browser.conftest import ADDRESS, ROOT, Register, until_it_answers
from training.rules.library import read_library
from training.rules.texts import ProcedureText

SITE = "high-street"
TODAY = date.today()  # the served register's own clock is the real one
OWN_PASSWORD = "nine lanterns by the quay"
NAME = "Tove Halvorsen"
PROCEDURE = "Sharps injury response (P13)"

SignIn = Callable[[Page, str, str], None]


@pytest.fixture(scope="module")
def tomorrow(register: Register) -> Iterator[str]:
    """The address of the same register on the next day."""
    environment = {
        name: value for name, value in os.environ.items() if name not in ("DATABASE_URL", "DJANGO_SETTINGS_MODULE")
    }
    environment |= {"MILLROOM_VAR": str(register.var), "PYTHONUNBUFFERED": "1"}
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.browser.tomorrow"], cwd=ROOT, env=environment, stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        yield ADDRESS.findall(until_it_answers(process))[-1].rstrip("/")
    finally:
        process.terminate()
        process.wait(20)


@pytest.fixture
def passphrase(register: Register) -> str:
    """What the start printed for everybody of the demo."""
    return re.search(r"^\s{4}([a-z]+(?:-[a-z]+){4})\s*$", register.printed, re.M).group(1)  # type: ignore[union-attr]


@pytest.fixture
def sharps() -> ProcedureText:
    library = read_library(Path("fixtures/library"))
    return next(text for text in library.procedures if text.code == "P13")


KEY = "[0-9a-f]{8}-[0-9a-f-]{27}"


def import_her(page: Page) -> str:
    """The coordinator reads a roster of one line, and invites her. Returns the invitation's address and her id."""
    start = (TODAY - timedelta(days=7)).isoformat()
    page.goto(f"/{SITE}/people/roster/import/")
    page.locator("textarea[name=text]").fill(
        f"given_name,family_name,staff_number,email,job_role,from_day,to_day,language\r\nTove,Halvorsen,L900,,Dental assistant,{start},,\r\n"
    )
    page.get_by_role("button", name="Check it").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("1 new person and 1 job role can be entered")
    page.get_by_role("button", name="Enter all of it").click()
    page.wait_for_url(lambda url: "/import/" not in url)
    page.goto(f"/{SITE}/people/")
    page.get_by_role("link", name=NAME, exact=True).click()
    page.wait_for_url(re.compile(rf"/people/{KEY}/$"))
    return page.url.rstrip("/").rsplit("/", 1)[-1]


def invite_her(page: Page, person: str) -> str:
    page.goto(f"/{SITE}/people/roster/{person}/invite/")
    page.locator("input[name=identity_checked]").fill("Passport seen by Delphine Marchetti in the office")
    page.get_by_role("button", name=re.compile("invite", re.I)).click()
    return page.locator("dd .code").inner_text()


def pass_the_check(page: Page, text: ProcedureText) -> None:
    """Study the procedure, then answer every question rightly, whatever the order of its options."""
    page.goto(f"/{SITE}/procedures/{text.code}/")
    expect(page.get_by_role("heading", level=1)).to_contain_text(text.title)
    page.goto(f"/{SITE}/procedures/{text.code}/check/")
    for question in text.content.questions:
        page.locator("fieldset", has_text=question.ask).get_by_label(question.right, exact=True).check()
    page.locator("main form button").last.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("Passed")


def sign_her_off(page: Page, person: str, name: str, word: str) -> None:
    """Two taps from Today: the row that says so, and the button below what is typed."""
    page.goto(f"/{SITE}/today/")
    page.locator(f"main a[href='/{SITE}/sign/{person}/P13/']").first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("can be signed now")
    page.locator("main input[name=sign_in_name]").fill(name)
    page.locator("main input[name=password]").fill(word)
    page.get_by_role("button", name="Sign", exact=True).click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("May work alone? Yes, through")


def certificate_of(page: Page) -> PdfReader:
    page.get_by_role("button", name="Issue the certificate").click()
    link = page.get_by_role("link", name="Open the PDF").get_attribute("href")
    return PdfReader(io.BytesIO(page.request.get(str(link)).body()))


def words_of(pdf: PdfReader) -> str:
    return "\n".join(page.extract_text() for page in pdf.pages)


def made_binder(page: Page, last: date) -> PdfReader:
    """The owner asks for a binder of the last month, watches its progress and opens it."""
    page.goto(f"/{SITE}/audit/binders/")
    for name, day in (("first", last - timedelta(days=30)), ("last", last), ("as_of", last)):
        page.locator(f"input[name={name}]").fill(f"{day:%d %b %Y}")
    page.get_by_role("button", name=re.compile("Make", re.I)).click()
    page.get_by_role("link", name="Open the binder").click(timeout=120_000)
    link = page.get_by_role("link", name="Open the PDF").get_attribute("href")
    return PdfReader(io.BytesIO(page.request.get(str(link)).body()))


def test_from_a_new_assistant_to_a_printed_binder(
    register: Register, tomorrow: str, passphrase: str, sharps: ProcedureText,
    open_context: Callable[..., BrowserContext], sign_in: SignIn,
) -> None:  # fmt: skip
    coordinator = open_context().new_page()
    sign_in(coordinator, "delphine.marchetti", passphrase)
    person = import_her(coordinator)
    invitation = invite_her(coordinator, person)

    her = open_context().new_page()
    her.goto(invitation)
    for name in ("new_password1", "new_password2"):
        her.locator(f"input[name={name}]").fill(OWN_PASSWORD)
    her.locator("input[name=accepts]").check()
    her.get_by_role("button", name="Set the password").click()
    her.goto(f"/{SITE}/people/{person}/plan/")
    expect(her.locator("main")).to_contain_text("Sharps injury response")
    pass_the_check(her, sharps)

    supervisor = open_context().new_page()
    sign_in(supervisor, "philippa.thorne", passphrase)
    begin(supervisor, SITE, person, PROCEDURE, "Drill")
    assert mark_all(supervisor, reload_after=9) == len(sharps.content.steps)
    send(supervisor)
    expect(supervisor.get_by_role("heading", level=1)).to_contain_text("met")

    next_day = open_context(base_url=tomorrow).new_page()
    next_day.clock.install(time=tomorrow_morning())
    sign_in(next_day, "philippa.thorne", passphrase)
    begin(next_day, SITE, person, PROCEDURE, "What-if talk")
    mark_all(next_day)
    send(next_day)
    sign_her_off(next_day, person, "philippa.thorne", passphrase)
    certificate = words_of(certificate_of(next_day))
    assert NAME in certificate
    assert "licence" in certificate

    code = next_day.get_by_role("link", name="Its check page").get_attribute("href")
    stranger = open_context(base_url=tomorrow).new_page()
    stranger.goto(str(code))
    expect(stranger.locator("main")).to_contain_text(NAME)

    next_day.goto(f"/{SITE}/people/{person}/P13/")
    assert (
        next_day.get_by_role("heading", level=1)
        .inner_text()
        .replace("\n", " ")
        .startswith("May work alone? Yes, through")
    )

    for day, state in ((TODAY, "learning"), (TODAY + timedelta(days=1), "current")):
        next_day.goto(f"/{SITE}/people/matrix/?day={day:%d}+{day:%b}+{day:%Y}")
        expect(next_day.locator("table.matrix td", has_text=f"{NAME}, P13")).to_contain_text(state)

    owner = open_context(base_url=tomorrow).new_page()
    sign_in(owner, "marit.oldenburg", passphrase)
    binder = words_of(made_binder(owner, TODAY + timedelta(days=1)))
    assert NAME in binder
    assert "Philippa Thorne" in binder


def tomorrow_morning() -> datetime:
    """A tablet's own clock, a day on."""
    return datetime.now(UTC) + timedelta(days=1)
