"""What somebody with wet hands does most, counted in taps: an entry of upkeep from the unit's label. The signature from Today is
counted where somebody is signed off (`test_whole_job`)."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.conftest import Register
from tests.browser.hand import Hand

SITE = "high-street"
LABEL, TASK = "unit 1, by the window", "U02"
MOST = 4  # taps, a goal of our own


@pytest.fixture
def hand(
    open_context: Callable[..., BrowserContext], sign_in: Callable[[Page, str, str], None], register: Register
) -> Hand:
    page = open_context().new_page()
    sign_in(page, "philippa.thorne", re.search(r"made just now:\s+(.+?)\s*\n", register.printed)[1])  # type: ignore[index]
    return Hand(page)


def test_upkeep_is_logged_in_four_taps_from_the_label(hand: Hand) -> None:
    page = hand.page
    page.goto(f"/{SITE}/upkeep/equipment/")
    page.goto(str(page.get_by_role("link", name=LABEL).first.get_attribute("href")).replace("equipment", "unit"))
    hand.go(page.locator(f"main a[href$='/log/{TASK}/']").first)
    readings = page.locator("main [name^=reading_]")
    for number, words in enumerate(("4", "20")):
        hand.tap(readings.nth(number))
        hand.type(readings.nth(number), words)
    hand.press("Save the entry")
    expect(page.locator("main")).to_contain_text("Last")
    assert "/log/" not in page.url and hand.taps <= MOST, hand.taps
