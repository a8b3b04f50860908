"""From the README's commands to a signed-off assistant and a binder, in a practice of six and in one of two.

What is done is counted, and printed beside the goals: at most 120 taps and 30 pages to set up nine units, thirteen opening
readings, every site fact and every instructions check.
"""

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser.bench import begin, mark_all, send
from tests.browser.conftest import ADDRESS, ROOT, tell_of_others, until_it_answers
from tests.browser.hand import Hand
from tests.browser.test_whole_job import (
    PROCEDURE,
    SITE,
    made_binder,
    pass_the_check,
    sign_her_off,
    tomorrow_morning,
    words_of,
)
from training.rules.library import read_library

OWNER, PASSWORD, HERS = "Ann Example", "seven lamps by the harbour", "nine lanterns by the quay"
MOST_TAPS, MOST_PAGES = 120, 30
MOST_PIXELS, MOST_OPEN = (
    2500,
    10,
)  # of the table of site facts while all of them are open: its length, and fields unfolded
TODAY = date.today()
DAY, LAST = (f"{day:%d %b %Y}" for day in (TODAY, TODAY + timedelta(days=300)))
LEARNER = "Tove Halvorsen"
UNITS = [
    ("milling unit", "unit 1"), ("coolant tank", "tank 1"), ("coolant filter", "filter 1"), ("suction unit", "suction 1"),
    ("torque driver", "driver 1"), ("reference driver", "reference 1"), ("steriliser", "steriliser 1"),
    ("eyewash", "eyewash 1"), ("sharps tub", "tub 1"),
]  # fmt: skip
OPENINGS, FACTS, CHECKS = 13, 72, 22  # what a practice with these units is asked, at the least
SIX = [
    "Bela Frost,Lead assistant", "Carl Moss,Dental assistant", "Dana Reed,Dental assistant", "Emil Vale,Receptionist",
    f"{LEARNER},Dental assistant",
]  # fmt: skip
TWO = [f"{LEARNER},Dental assistant"]


def environment(var: Path) -> dict[str, str]:
    kept_out = ("DATABASE_URL", "DJANGO_SETTINGS_MODULE")
    found = {name: value for name, value in os.environ.items() if name not in kept_out}
    return found | {"MILLROOM_VAR": str(var), "PYTHONUNBUFFERED": "1"}


@contextmanager
def served(var: Path, *command: str) -> Iterator[str]:
    process = subprocess.Popen(
        [sys.executable, *command], cwd=ROOT, env=environment(var), stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        stdin=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        yield ADDRESS.findall(until_it_answers(process))[-1].rstrip("/")
    finally:
        process.terminate()
        process.wait(20)


def manage(var: Path, *words: str) -> str:
    done = subprocess.run(
        [sys.executable, "manage.py", *words], cwd=ROOT, env=environment(var), capture_output=True, text=True,
        stdin=subprocess.DEVNULL, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def begun(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, str]:
    """The README's commands, once. The register, and where its owner chooses a password."""
    var = tmp_path_factory.mktemp("from_nothing")
    manage(var, "migrate", "--verbosity", "0")
    made = ["--organisation", "Your Dental", "--name", "High Street", "--code", SITE, "--owner", OWNER]
    printed = manage(var, "new_site", *made)
    manage(var, "load_library", "--by", "1")
    return var, re.search(r"/invitation/\S+/", printed).group()  # type: ignore[union-attr]


@pytest.fixture
def opened(chromium: Browser) -> Iterator[Callable[[str], Page]]:
    """A fresh visitor of a register. What a page asks of another host fails the test."""
    contexts: list[BrowserContext] = []
    complaints: list[str] = []

    def visitor(url: str) -> Page:
        context = chromium.new_context(base_url=url, viewport={"width": 1180, "height": 820}, service_workers="block")
        tell_of_others(context, url, complaints)
        contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(60_000)
        return page

    yield visitor
    for each in contexts:
        each.close()
    assert complaints == []


# ---------- setting up ----------
def first_password(hand: Hand, address: str, word: str) -> None:
    hand.page.goto(address)
    for name in ("new_password1", "new_password2"):
        hand.type(name, word)
    hand.tick(hand.page.locator("input[name=accepts]"))
    hand.press("Set the password")


def proves(hand: Hand) -> None:
    if not hand.page.locator("main [name=sign_in_name]").input_value():
        hand.type("sign_in_name", "ann.example")
    hand.type("password", PASSWORD)


def set_up(hand: Hand, people: list[str]) -> None:
    """What Going live asks of the owner, in its order."""
    put_in_force(hand)
    enter_people(hand, people)
    enter_units(hand)
    enter_drivers(hand)
    answer_facts(hand)
    check_instructions(hand)


def put_in_force(hand: Hand) -> None:
    hand.go("Procedures")
    hand.go("Approve the set")
    proves(hand)
    hand.press("Approve and put in force")
    for link in ("People", "Roster", "Going live"):
        hand.go(link)


def does(hand: Hand, point: str) -> None:
    """The button of a point of the list."""
    hand.go(hand.page.locator("li", has_text=point).get_by_role("link").first)


def saves(hand: Hand) -> None:
    hand.press("Save all of it")
    expect(hand.page.get_by_role("heading", level=1)).to_contain_text("missing before the first morning")


def enter_people(hand: Hand, people: list[str]) -> None:
    does(hand, "People with a job role here")
    lines = [f"Ann,Example,1,,new: Dentist,{DAY},,"]
    for number, each in enumerate(people, 2):
        name, role = each.split(",")
        lines.append(f"{name.replace(' ', ',')},{number},,new: {role},{DAY},,")
    heads = "given_name,family_name,staff_number,email,job_role,from_day,to_day,language"
    hand.type("text", "\n".join([heads, *lines]))
    hand.press("Check it")
    hand.press("Enter all of it")
    hand.go("Going live")


def enter_units(hand: Hand) -> None:
    does(hand, "upkeep tasks know when they were last done")
    kinds, labels = hand.cells("kind"), hand.cells("label")
    for place, name, (kind, label) in zip(kinds, labels, UNITS, strict=False):
        hand.choose(place, kind)
        hand.type(name, label)
    hand.press("Check it")
    for place, counter in zip(hand.cells("last_done")[:OPENINGS], hand.cells("units"), strict=False):
        hand.type(place, DAY)
        hand.type(counter, "3")
    saves(hand)


def enter_drivers(hand: Hand) -> None:
    does(hand, "Torque drivers with their papers")
    hand.choose(hand.cells("driver_class")[0], "D")
    for column, words in (("seat", "hex 1.3"), ("set_torque", "12"), ("most_torque", "20")):
        hand.type(hand.cells(column)[0], words)
    hand.type("all-target_source", "Instructions for use, page 30")
    hand.choose(hand.page.locator("main [name=all-paper]"), "calibration certificate")
    saves(hand)


def answer_facts(hand: Hand) -> None:
    does(hand, "Walk round")
    places = hand.cells("answer")
    assert len(places) >= FACTS, len(places)
    assert hand.page.evaluate("document.documentElement.scrollHeight") <= MOST_PIXELS
    assert [place.is_visible() for place in places].index(False) <= MOST_OPEN
    hand.tap(hand.page.get_by_role("button", name="Open all of it"))
    for place in places:
        hand.type(place, "the red one, by the door")
    hand.page.reload()  # a tablet that went to sleep: nothing typed is lost
    expect(hand.page.get_by_text("Not sent yet: what you typed here")).to_be_visible()
    expect(hand.cells("answer")[-1]).to_have_value("the red one, by the door")
    saves(hand)


def check_instructions(hand: Hand) -> None:
    does(hand, "Held against the maker")
    assert len(hand.page.get_by_role("group", name="Procedures").first.get_by_role("checkbox").all()) > CHECKS
    hand.tick(hand.page.get_by_label("All").first)
    hand.type(hand.cells("title")[0], "Instructions for use")
    hand.type(hand.cells("edition")[0], "3rd edition")
    proves(hand)
    saves(hand)


def found(hand: Hand, person: str) -> None:
    """Somebody else than the owner may work alone, observe and sign in all of it."""
    does(hand, "People who may observe and sign here")
    block = hand.page.get_by_role("group", name=person, exact=True)
    hand.tick(block.get_by_label("All").first)
    hand.choose(hand.page.locator("main [name=all-rests_on]"), "visit")
    hand.type("all-detail", "The trainer’s visit in November.")
    hand.type("all-to_day", LAST)
    proves(hand)
    saves(hand)


# ---------- the work ----------
def invited(hand: Hand, name: str) -> tuple[str, str]:
    """Her id, and where she chooses a password."""
    hand.go("People")
    hand.go(hand.page.get_by_role("link", name=name, exact=True).first)
    person = hand.page.url.rstrip("/").rsplit("/", 1)[-1]
    hand.page.goto(f"/{SITE}/people/roster/{person}/invite/")
    hand.type("identity_checked", "Passport seen in the office")
    hand.go(hand.page.get_by_role("button", name=re.compile("invite", re.I)))
    return person, hand.page.locator("dd .code").inner_text()


def watched(page: Page, person: str, method: str) -> None:
    begin(page, SITE, person, PROCEDURE, method)
    mark_all(page)
    send(page)


def to_the_binder(owner: Hand, signer: Page, person: str, her: Page, var: Path, opened: Callable[[str], Page]) -> None:
    """She passes the check and is watched on two days; she is signed off, and the binder says so."""
    sharps = next(text for text in read_library(Path("fixtures/library")).procedures if text.code == "P13")
    pass_the_check(her, sharps)
    watched(signer, person, "Drill")
    name = "ann.example" if signer == owner.page else "bela.frost"
    with served(var, "-m", "tests.browser.tomorrow") as url:
        page = opened(url)
        page.clock.install(time=tomorrow_morning())
        signs_in(page, name, PASSWORD)
        watched(page, person, "What-if talk")
        sign_her_off(page, person, name, PASSWORD)
        if name != "ann.example":
            page = opened(url)
            signs_in(page, "ann.example", PASSWORD)
        binder = words_of(made_binder(page, TODAY + timedelta(days=1)))
    assert LEARNER in binder


def signs_in(page: Page, name: str, word: str) -> None:
    page.goto("/sign-in/")
    page.locator("input[name=username]").fill(name)
    page.locator("input[name=password]").fill(word)
    page.locator("input[name=password]").press("Enter")
    page.wait_for_url(lambda url: "/sign-in/" not in url)


def told(what: str, hand: Hand) -> None:
    print(
        f"\n{what}: {hand.taps} taps (goal {MOST_TAPS}), {len(hand.pages)} pages (goal {MOST_PAGES}), {hand.keys} keys"
    )


def test_a_practice_of_six_is_set_up_in_one_sitting_and_signs_its_assistant_off(
    begun: tuple[Path, str], tmp_path: Path, opened: Callable[[str], Page]
) -> None:
    var = Path(shutil.copytree(begun[0], tmp_path / "six"))
    with served(var, "manage.py", "serve", "--port", "0") as url:
        owner = Hand(opened(url))
        first_password(owner, begun[1], PASSWORD)
        set_up(owner, SIX)
        found(owner, "Bela Frost")
        told("A practice of six, set up by its owner", owner)
        assert owner.taps <= MOST_TAPS and len(owner.pages) <= MOST_PAGES
        lead, her = Hand(opened(url)), Hand(opened(url))
        first_password(lead, invited(owner, "Bela Frost")[1], PASSWORD)
        person, address = invited(owner, LEARNER)
        first_password(her, address, HERS)
        to_the_binder(owner, lead.page, person, her.page, var, opened)


def test_a_practice_of_two_starts_its_owner_at_the_computer_and_signs_its_assistant_off(
    begun: tuple[Path, str], tmp_path: Path, opened: Callable[[str], Page]
) -> None:
    var = Path(shutil.copytree(begun[0], tmp_path / "two"))
    with served(var, "manage.py", "serve", "--port", "0") as url:
        owner, her = Hand(opened(url)), Hand(opened(url))
        first_password(owner, begun[1], PASSWORD)
        put_in_force(owner)
        enter_people(owner, TWO)
        check_instructions(owner)
        told("A practice of two, as far as its first signature needs it", owner)
        resting = ["--rests-on", "course", "--detail", "The maker’s two-day course in November."]
        manage(var, "found_owner", "ann.example", "--site", SITE, *resting)
        person, address = invited(owner, LEARNER)
        first_password(her, address, HERS)
        to_the_binder(owner, owner.page, person, her.page, var, opened)
