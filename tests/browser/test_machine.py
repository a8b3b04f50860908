"""A morning at the milling unit in a browser: a tool swapped, water changed, jets purged, a bad reading followed up, and all of
it in the binder."""

from collections.abc import Callable
from datetime import date

import pytest
from playwright.sync_api import BrowserContext, Locator, Page, expect

from tests.browser.test_whole_job import SITE, SignIn, made_binder, passphrase, words_of

__all__ = ["passphrase"]  # a fixture
TODAY = date.today()  # the served register's own clock is the real one
TOOL, UNIT, TANK = "F20-late", "unit 1, by the window", "tank of unit 1"
WHO = "Philippa Thorne"


@pytest.fixture
def coordinator(open_context: Callable[..., BrowserContext], sign_in: SignIn, passphrase: str) -> Page:
    page = open_context().new_page()
    sign_in(page, "delphine.marchetti", passphrase)
    return page


@pytest.fixture
def philippa(open_context: Callable[..., BrowserContext], sign_in: SignIn, passphrase: str) -> Page:
    page = open_context().new_page()
    sign_in(page, "philippa.thorne", passphrase)
    return page


def enter_tool(page: Page, code: str = TOOL, positions: str = "1") -> None:
    page.goto(f"/{SITE}/upkeep/tools/new/")
    for name, words in (("code", code), ("size", "2.0 mm"), ("seat", "hex 1.3"), ("positions", positions)):
        page.locator(f"main [name={name}]").fill(words)
    page.locator("main [name=kind]").select_option("fluted cutter")
    page.get_by_role("button", name="Enter the tool").click()
    expect(page.locator("main")).to_contain_text(code)


def choose(page: Page, **chosen: str) -> None:
    for name, words in chosen.items():
        option = page.locator(f"main select[name={name}] option", has_text=words).first  # whatever its capitals
        option.wait_for(state="attached")
        page.locator(f"main select[name={name}]").select_option(label=option.inner_text())


def swap(page: Page) -> None:
    """With the wrong driver first, which is refused before the door opens; then with the right one."""
    page.goto(f"/{SITE}/upkeep/tools/")
    page.get_by_role("link", name=f"Swap a tool in {UNIT}").click()
    page.locator("main [name=position]").fill("1")
    choose(page, tool=TOOL, material="pre-sintered zirconia", way="dry", driver="driver B")
    page.get_by_role("button", name="Check the choice").click()
    expect(page.locator("main")).to_contain_text(f"driver B fits square 2.0; {TOOL} needs hex 1.3. Take driver A.")
    choose(page, driver="driver A")
    page.get_by_role("button", name="Check the choice").click()
    expect(page.locator("main")).to_contain_text("Tool, position and driver fit.")
    for name in ("still", "nobody_can_start", "protected", "clicked"):
        page.locator(f"main [name={name}]").check()
    for name in ("counted_out", "counted_in"):
        page.locator(f"main [name={name}]").fill("6")
    choose(page, why="end of life")
    page.get_by_role("button", name="Save the swap").click()
    page.wait_for_url(f"**/{SITE}/upkeep/tools/")
    expect(page.locator("main")).to_contain_text(TOOL)


def tank(page: Page) -> Locator:
    """What the page of the tank says."""
    page.goto(f"/{SITE}/upkeep/equipment/")
    page.get_by_role("link", name=TANK, exact=True).first.click()
    return page.locator("main")


def open_log(page: Page, label: str, task: str) -> None:
    """As the code on the unit does: the unit's own page, then the task."""
    page.goto(f"/{SITE}/upkeep/equipment/")
    page.get_by_role("link", name=label, exact=True).first.click()
    page.wait_for_url("**/upkeep/equipment/*/")
    page.goto(page.url.replace("/upkeep/equipment/", "/upkeep/unit/") + f"log/{task}/")


def log(page: Page, label: str, task: str, **readings: str) -> None:
    open_log(page, label, task)
    for name, typed in readings.items():
        field = page.locator(f"main [name=reading_{name}]")
        if field.first.get_attribute("type") == "radio":
            page.locator(f"main [name=reading_{name}][value={typed}]").check()
        else:
            field.fill(typed)
    choose(page, done_by=WHO)
    page.get_by_role("button", name="Save the entry").click()
    page.wait_for_url(lambda url: "/log/" not in url)


def test_a_morning_at_the_unit_is_found_in_the_binder(
    coordinator: Page, philippa: Page, open_context: Callable[..., BrowserContext], sign_in: SignIn, passphrase: str
) -> None:
    enter_tool(coordinator)
    swap(philippa)
    log(philippa, TANK, "U05", dose="61", dose_right="yes", look_and_smell="yes")
    log(philippa, UNIT, "U02", jets="4", seconds="7")

    log(philippa, TANK, "U06", cfu="54321")
    expect(philippa.locator("main")).to_contain_text("find the cause, change the water sooner, test again")
    expect(tank(philippa)).to_contain_text("out of limits")
    log(philippa, TANK, "U06", cfu="876")
    expect(tank(philippa)).not_to_contain_text("out of limits")

    owner = open_context().new_page()
    sign_in(owner, "marit.oldenburg", passphrase)
    binder = " ".join(words_of(made_binder(owner, TODAY)).split())
    for written in (TOOL, "61 mL", "54321 CFU/mL", "876 CFU/mL", WHO):
        assert written in binder, written
