"""A day at the mill in a browser: the set of tools changed, a job started and crashed, another made again, water with filter and
purge in one go, and all of it in the binder."""

from collections.abc import Callable

from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.test_machine import TODAY, UNIT, choose, coordinator, philippa
from tests.browser.test_whole_job import SITE, SignIn, made_binder, passphrase, words_of

__all__ = ["coordinator", "passphrase", "philippa"]  # fixtures
TOOL, PLACE = "F05-day", "8"
FIRST, SECOND = "26-7701", "26-7702"
WANTED = {"material": "polymer or wax", "way": "wet"}


def go(page: Page, link: str) -> None:
    """From the page of the unit's label, by a button that stands there."""
    page.goto(f"/{SITE}/upkeep/equipment/")
    page.get_by_role("link", name=UNIT, exact=True).first.click()
    page.wait_for_url("**/upkeep/equipment/*/")
    page.goto(page.url.replace("/upkeep/equipment/", "/upkeep/unit/"))
    page.locator("main").get_by_role("link", name=link, exact=True).first.click()


def write_the_set(page: Page) -> None:
    """A new tool for a position that nothing sits in, and the line that asks for it."""
    page.goto(f"/{SITE}/upkeep/tools/new/")
    for name, words in (("code", TOOL), ("size", "0.5 mm"), ("seat", "hex 1.3"), ("positions", PLACE)):
        page.locator(f"main [name={name}]").fill(words)
    page.locator("main [name=kind]").select_option("fluted cutter")
    page.get_by_role("button", name="Enter the tool").click()
    page.wait_for_url(lambda url: "/tools/new/" not in url)
    go(page, "Set of tools")
    page.get_by_role("link", name="Write down the sets").click()
    page.wait_for_url("**/set/lines/")
    choose(page, **WANTED, tool="fluted cutter")
    page.locator("main [name=position]").fill(PLACE)
    page.locator("main [name=size]").fill("0.5 mm")
    page.get_by_role("button", name="Save the line").click()
    expect(page.locator("main")).to_contain_text(f"position {PLACE}")


def change_the_set(page: Page) -> None:
    go(page, "Set of tools")
    choose(page, **WANTED)
    page.get_by_role("button", name="Show its set").click()
    expect(page.locator("main")).to_contain_text(f"In its holder: {TOOL}.")
    page.get_by_role("link", name=f"Swap position {PLACE}").click()
    expect(page.locator("main [name=position]")).to_have_value(PLACE)
    choose(page, tool=TOOL, driver="driver A")
    for name in ("still", "nobody_can_start", "protected", "clicked"):
        page.locator(f"main [name={name}]").check()
    for name in ("counted_out", "counted_in"):
        page.locator(f"main [name={name}]").fill("3")
    page.get_by_role("button", name="Save the swap").click()
    page.wait_for_url("**/set/**")
    expect(page.locator("main")).to_contain_text(f"{TOOL} sits there and stays.")


def start(page: Page, case: str) -> None:
    go(page, "Start a job")
    page.locator("main [name=case]").fill(case)
    choose(page, lot="PW-118", way="wet")
    page.get_by_role("button", name="Start the job").click()


def end(page: Page, outcome: str, cause: str = "") -> None:
    page.locator(f"main [name=outcome][value={outcome}]").check()
    if cause:
        choose(page, cause=cause)
    page.get_by_role("button", name="Save how it ended").click()
    page.wait_for_url("**/jobs/")


def mill(page: Page) -> None:
    """A name is refused and stays typed; the first job crashes, the second was good and is made again."""
    start(page, "Jane Smith")
    expect(page.locator("#div_id_case")).to_contain_text("never the name of a patient")
    expect(page.locator("main [name=case]")).to_have_value("Jane Smith")
    page.locator("main [name=case]").fill(FIRST)
    page.get_by_role("button", name="Start the job").click()
    page.wait_for_url("**/end/")
    end(page, "crash", "loose or cracked block")
    expect(page.locator("main")).to_contain_text(f"Case {FIRST}: crash, loose or cracked block")

    start(page, SECOND)
    page.wait_for_url("**/end/")
    end(page, "good")
    page.get_by_role("link", name=f"Case {SECOND}").click()
    end(page, "remade", "does not fit")
    expect(page.locator("main")).to_contain_text(f"Case {SECOND}: remade, does not fit")


def water_filter_and_purge(page: Page) -> None:
    go(page, "Water, filter and purge")
    for name, typed in (("U05_reading_dose", "62"), ("U02_reading_jets", "4"), ("U02_reading_seconds", "8")):
        page.locator(f"main [name={name}]").fill(typed)
    for name, typed in (("U05_reading_dose_right", "yes"), ("U05_reading_look_and_smell", "yes"), ("U07_reading_leak", "no")):  # fmt: skip
        page.locator(f"main [name={name}][value={typed}]").check()
    page.get_by_role("button", name="Save them all").click()
    page.wait_for_url(lambda url: "/together/" not in url)


def test_a_day_at_the_mill_is_found_in_the_binder(
    coordinator: Page, philippa: Page, open_context: Callable[..., BrowserContext], sign_in: SignIn, passphrase: str
) -> None:
    write_the_set(coordinator)
    change_the_set(philippa)
    mill(philippa)
    water_filter_and_purge(philippa)
    owner = open_context().new_page()
    sign_in(owner, "marit.oldenburg", passphrase)
    binder = " ".join(words_of(made_binder(owner, TODAY)).split())
    for written in (TOOL, FIRST, SECOND, "remade: does not fit", "crash: loose or cracked block", "62 mL"):
        assert written in binder, written
