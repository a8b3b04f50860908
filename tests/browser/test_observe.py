"""The bench in a real browser, on a tablet: taps are kept on the device, a dead network loses nothing, sent twice is once."""

import re
import sqlite3
from collections.abc import Callable
from typing import Any

import pytest
from django.core.management import get_commands
from playwright.sync_api import BrowserContext, Page, Route, expect

from tests.browser.bench import BETWEEN_MARKS, unfold
from tests.browser.conftest import Register

pytestmark = pytest.mark.skipif("demo" not in get_commands(), reason="manage.py demo does not exist yet")

SUPERVISOR, PERSON, SITE = "philippa.thorne", "Zoë Ångström-Łuczak", "high-street"
UNIT = "unit 1, by the window (milling unit)"


@pytest.fixture
def passphrase(register: Register) -> str:
    return re.search(r"made just now:\s+(.+?)\s*\n", register.printed)[1]  # type: ignore[index]


@pytest.fixture
def bench(page: Page, sign_in: Callable[[Page, str, str], None], passphrase: str) -> Page:
    """An assessment of P01 by real work, just begun."""
    sign_in(page, SUPERVISOR, passphrase)
    begin(page)
    expect(page.locator(".mark-dock")).to_be_visible()
    return page


@pytest.fixture
def cases(page: Page, sign_in: Callable[[Page, str, str], None], passphrase: str) -> Page:
    """An assessment of P06, of which some steps are only for a case, and some for every case."""
    sign_in(page, SUPERVISOR, passphrase)
    begin(page, "P06")
    expect(page.locator(".mark-dock")).to_be_visible()
    return page


def begin(page: Page, procedure: str = "P01") -> None:
    page.goto(f"/{SITE}/observe/begin/?procedure={procedure}")
    unfold(page)
    page.get_by_label("Who is watched").select_option(PERSON)
    page.get_by_label("Assessment: evidence").check()
    page.get_by_label("Real work").check()
    page.locator("#id_equipment").select_option(label=UNIT)
    page.get_by_role("button", name="Begin", exact=True).click()


def tap(page: Page, mark: str) -> None:
    page.locator(f"[data-mark='{mark}']").click()
    page.wait_for_timeout(BETWEEN_MARKS)


def mark_the_rest(page: Page, mark: str = "alone") -> None:
    while page.locator(".mark-dock").is_visible():
        tap(page, mark)


def send(page: Page) -> None:
    page.locator("[data-do=send]").click()


def recorded(register: Register) -> int:
    with sqlite3.connect(register.var / "register.sqlite3") as database:
        return int(database.execute("select count(*) from training_observation").fetchone()[0])


WINDOWS = [(390, 844), (820, 1180), (1440, 900), (844, 390)]
COVERED = """(name) => {
  const dock = document.querySelector('.mark-dock').getBoundingClientRect();
  const box = document.querySelector(`[data-is=${name}]`).getBoundingClientRect();
  return box.height > 0 && box.right > dock.left && box.bottom > dock.top + 1 && box.top < dock.bottom;
}"""
REACHED = """(name) => {
  const box = document.querySelector(`[data-${name}]`).getBoundingClientRect();
  const over = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
  return Boolean(over?.closest(`[data-${name}]`));
}"""


@pytest.mark.parametrize(("width", "height"), WINDOWS)
def test_a_bench_in_any_window_goes_through_a_reload_a_dead_network_and_the_idle_lock(
    cases: Page, register: Register, lock: Callable[[Page], None], passphrase: str, width: int, height: int
) -> None:
    """A phone, a tablet, a desk and a phone on its side: no step is covered by its marks, every mark stands where a finger
    reaches it, and neither a reload nor the network nor the lock loses a mark."""
    before, page = recorded(register), cases
    page.set_viewport_size({"width": width, "height": height})
    marked = 0
    while page.locator(".mark-dock").is_visible():
        assert not page.evaluate(COVERED, "do"), page.locator("[data-is=do]").inner_text()
        assert page.evaluate(REACHED, "mark=alone") and page.evaluate(REACHED, "do=stop")
        tap(page, "alone")
        marked += 1
        if marked == 3:
            page.reload()
            expect(page.locator(".progress-strip .is-alone")).to_have_count(3)
    page.context.set_offline(True)
    send(page)
    expect(page.get_by_text("The marks are kept on this tablet. Send again")).to_be_visible()
    page.context.set_offline(False)
    lock(page)
    send(page)
    page.get_by_role("link", name="Sign in again").click()
    page.locator("main [name=username]").fill(SUPERVISOR)
    page.locator("main [name=password]").fill(passphrase)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.locator("[data-do=send]")).to_be_visible()
    page.locator("[data-do=send]").scroll_into_view_if_needed()
    assert page.evaluate(REACHED, "do=send")
    send(page)
    expect(page.get_by_role("heading", level=1)).to_contain_text("met")
    assert recorded(register) == before + 1


MARKS = "Bench.state.marks"
PLACES = ("alone", "prompted", "helped", "wrong", "not seen", "asked", "not needed")


def spot(page: Page, mark: str) -> tuple[float, float]:
    box = page.locator(f"[data-mark='{mark}']").bounding_box()
    assert box
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def test_every_mark_has_one_place_on_every_step(cases: Page) -> None:
    places, offered = set(), set()
    while cases.locator(".mark-dock").is_visible():
        places.add(tuple(spot(cases, mark) for mark in PLACES))
        offered.add(cases.locator("[data-mark=asked]").is_visible())
        assert cases.locator("[data-mark=asked]").is_visible() == cases.locator("[data-is=when]").is_visible()
        tap(cases, "alone")
    assert len(places) == 1 and offered == {True, False}


@pytest.mark.parametrize(
    ("meant", "between"), [("alone", 0), ("not seen", BETWEEN_MARKS), ("asked", BETWEEN_MARKS)]
)  # fmt: skip
def test_one_spot_tapped_twenty_times_records_no_mark_that_was_not_meant(
    cases: Page, register: Register, meant: str, between: int
) -> None:
    before, where = recorded(register), spot(cases, meant)
    for _ in range(20):
        cases.mouse.click(*where)
        cases.wait_for_timeout(between)
    assert set(cases.evaluate(MARKS).values()) <= {meant}
    assert recorded(register) == before
    assert cases.evaluate("[Bench.state.stopped, Bench.state.ownWord]") == [False, ""]


def test_two_taps_at_once_mark_one_step(bench: Page) -> None:
    for other in ("prompted", "alone"):  # any button, and across the step that came next
        bench.evaluate(
            "marks => marks.forEach((mark) => document.querySelector(`[data-mark='${mark}']`).click())",
            ["alone", other],
        )
        bench.wait_for_timeout(BETWEEN_MARKS)
    assert list(bench.evaluate(MARKS).values()) == ["alone", "alone"]
    expect(bench.locator("[data-is=number]")).to_have_text("3")
    tap(bench, "prompted")
    assert list(bench.evaluate(MARKS).values()) == ["alone", "alone", "prompted"]


def test_a_stop_is_never_kept_waiting(bench: Page) -> None:
    bench.evaluate("for (const what of ['mark=alone', 'do=stop']) document.querySelector(`[data-${what}]`).click()")
    expect(bench.locator("[data-do=stopped]")).to_be_visible()


def test_the_last_mark_can_be_taken_back_after_a_reload_too(bench: Page) -> None:
    tap(bench, "alone")
    tap(bench, "helped")
    bench.reload()
    expect(bench.get_by_role("status")).to_contain_text("Step 2: helped.")
    bench.get_by_role("button", name="Take it back").click()
    expect(bench.locator("[data-is=number]")).to_have_text("2")
    assert list(bench.evaluate(MARKS).values()) == ["alone"]
    expect(bench.get_by_role("button", name="Take it back")).to_be_hidden()


def test_the_last_step_can_be_taken_back_at_the_end(bench: Page) -> None:
    mark_the_rest(bench)
    marked = len(bench.evaluate(MARKS))
    bench.locator("[data-screen=end]").get_by_role("button", name="Take it back").click()
    expect(bench.locator(".mark-dock")).to_be_visible()
    assert len(bench.evaluate(MARKS)) == marked - 1


def test_a_mark_says_which_step_it_marks(bench: Page) -> None:
    tap(bench, "alone")
    expect(bench.get_by_role("button", name="alone: step 2, right, with no help")).to_be_visible()
    expect(bench.get_by_role("status")).to_contain_text("Step 1: alone.")


def test_a_procedure_of_the_whole_site_asks_for_no_unit(page: Page, sign_in: Any, passphrase: str) -> None:
    sign_in(page, SUPERVISOR, passphrase)
    page.goto(f"/{SITE}/observe/begin/")
    unfold(page)
    page.locator("#id_equipment").select_option(label=UNIT)
    page.get_by_label("Hand hygiene and protective equipment (P14)").check()
    expect(page.locator("#id_equipment")).to_be_hidden()
    assert page.locator("#id_equipment").input_value() == ""
    page.get_by_label("Tool swap (P03)").check()
    expect(page.locator("#id_equipment")).to_be_visible()


@pytest.fixture
def kept_bench(open_context: Callable[..., BrowserContext], sign_in: Callable[..., None], passphrase: str) -> Page:
    """A bench of which the tablet keeps what it needs to open it again."""
    page = open_context(service_workers="allow").new_page()
    sign_in(page, SUPERVISOR, passphrase)
    begin(page)
    expect(page.locator("[data-bench][data-reopens=yes]")).to_be_visible()
    return page


def test_a_reload_on_a_dead_network_opens_the_bench_with_its_marks(kept_bench: Page, register: Register) -> None:
    before = recorded(register)
    tap(kept_bench, "alone")
    kept_bench.context.set_offline(True)
    kept_bench.reload()
    expect(kept_bench.locator("[data-is=number]")).to_have_text("2")
    assert kept_bench.evaluate("getComputedStyle(document.querySelector('.mark-dock')).position") == "sticky"
    mark_the_rest(kept_bench)
    kept_bench.context.set_offline(False)
    send(kept_bench)
    kept_bench.wait_for_url(f"**/{SITE}/observe/*-*/")
    assert recorded(register) == before + 1


PAGES_KEPT = """async () => !(await caches.has("bench")) ? 0
  : (await (await caches.open("bench")).keys()).filter((each) => each.url.includes("/observe/bench/")).length"""


def test_what_was_sent_is_not_kept_on_the_tablet(kept_bench: Page) -> None:
    assert kept_bench.evaluate(PAGES_KEPT) == 1
    mark_the_rest(kept_bench)
    send(kept_bench)
    kept_bench.wait_for_url(f"**/{SITE}/observe/*-*/")
    kept_bench.wait_for_function(f"async () => await ({PAGES_KEPT})() === 0")


def test_after_the_sign_out_no_page_is_kept(kept_bench: Page) -> None:
    kept_bench.goto(f"/{SITE}/today/")
    kept_bench.get_by_role("button", name="sign out").click()
    kept_bench.wait_for_url("**/sign-in/**")
    kept_bench.wait_for_function("async () => !(await caches.has('bench'))")


def test_an_answer_lost_on_the_way_is_recorded_once(bench: Page, register: Register) -> None:
    before = recorded(register)
    mark_the_rest(bench)
    bench.route("**/observe/bench/**", lambda route: lose_the_answer(route), times=1)
    send(bench)
    expect(bench.get_by_text("There is no way to the register just now.")).to_be_visible()
    send(bench)
    bench.wait_for_url(f"**/{SITE}/observe/*-*/")
    assert recorded(register) == before + 1


def lose_the_answer(route: Route) -> None:
    """The register gets it; its answer never arrives."""
    route.fetch()
    route.abort()


def test_what_is_not_sent_yet_is_offered_to_go_on(bench: Page) -> None:
    tap(bench, "prompted")
    bench.goto(f"/{SITE}/observe/")
    bench.locator("[data-unfinished]").get_by_role("link", name="Go on").last.click()
    expect(bench.locator(".progress-strip")).to_be_visible()


def test_a_stop_asks_its_reason_at_once(bench: Page) -> None:
    bench.locator("[data-do=stop]").click()
    bench.locator("[data-do=stopped]").click()
    expect(bench.get_by_text("Say what was unsafe: without its reason")).to_be_visible()
    bench.get_by_label("What was unsafe").fill("A hand went in while it ran down.")
    bench.locator("[data-do=stopped]").click()
    send(bench)
    expect(bench.get_by_text("Not met: it was stopped as unsafe.")).to_be_visible()


def test_a_pause_asks_that_the_unit_is_parked_and_survives_a_reload(bench: Page) -> None:
    bench.locator("[data-do=pause]").click()
    bench.locator("[data-do=park]").click()
    expect(bench.get_by_text("Park the unit and shut the door first")).to_be_visible()
    bench.get_by_label("Unit parked, door shut").check()
    bench.locator("[data-do=park]").click()
    bench.reload()
    bench.locator("[data-do=resume]").click()
    expect(bench.locator(".mark-dock")).to_be_visible()


def test_unmarked_steps_are_counted_and_any_can_be_jumped_to(bench: Page) -> None:
    bench.locator(".mark-dock [data-do=all]").click()
    bench.locator(".all-steps button").nth(4).click()
    expect(bench.locator("[data-is=number]")).to_have_text("5")


def test_without_a_script_the_same_form_is_one_page(
    open_context: Callable[..., BrowserContext], sign_in: Any, passphrase: str
) -> None:
    page = open_context(java_script_enabled=False).new_page()
    sign_in(page, SUPERVISOR, passphrase)
    page.goto(f"/{SITE}/observe/begin/?procedure=P01")
    unfold(page)
    page.get_by_label("Who is watched").select_option(PERSON)
    page.locator("#id_equipment").select_option(label=UNIT)
    page.get_by_label("Practice: teaching").check()
    page.get_by_label("Real work").check()
    page.get_by_role("button", name="Begin", exact=True).click()
    expect(page.get_by_role("heading", level=1, name="Mark each step")).to_be_visible()
    page.get_by_role("button", name="Send the observation").click()
    expect(page.get_by_text("not marked.", exact=False).first).to_be_visible()
