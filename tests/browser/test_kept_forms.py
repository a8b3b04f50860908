"""The swap and a second marking stay on the tablet until the register has them: a reload, a dead network, a second try."""

import sqlite3
from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.conftest import Register
from tests.browser.test_machine import UNIT, choose, coordinator, enter_tool
from tests.browser.test_whole_job import SITE, SignIn, passphrase

__all__ = ["coordinator", "passphrase"]  # fixtures
TOOL = "D12-kept"
SEND_AGAIN = "What you typed is kept on this tablet. Send again when the network is back."


@pytest.fixture
def page(open_context: Callable[..., BrowserContext], sign_in: SignIn, passphrase: str) -> Page:
    page = open_context().new_page()
    sign_in(page, "philippa.thorne", passphrase)
    return page


def count(register: Register, table: str) -> int:
    with sqlite3.connect(register.var / "register.sqlite3") as database:
        return int(database.execute(f"select count(*) from {table}").fetchone()[0])


def sent_after_a_dead_network(page: Page, button: str) -> None:
    """Said that it is kept while there is no network, and sent with it: both tries go out under one id."""
    page.context.set_offline(True)
    page.get_by_role("button", name=button).click()
    expect(page.get_by_text(SEND_AGAIN)).to_be_visible()
    page.context.set_offline(False)
    here = page.url
    page.get_by_role("button", name=button).click()
    page.wait_for_url(lambda url: url != here)


def fill_in_a_swap(page: Page) -> None:
    """Up to the opening of the door; at a position where nothing sits."""
    page.goto(f"/{SITE}/upkeep/tools/")
    page.get_by_role("link", name=f"Swap a tool in {UNIT}").click()
    page.locator("main [name=position]").fill("9")
    choose(page, tool=TOOL, material="pre-sintered zirconia", way="dry", driver="driver A")
    for name in ("still", "nobody_can_start", "protected"):
        page.locator(f"main [name={name}]").check()
    page.locator("main [name=counted_out]").fill("6")


def test_a_swap_half_filled_in_survives_a_reload_a_check_and_a_dead_network(
    coordinator: Page, page: Page, register: Register
) -> None:
    enter_tool(coordinator, TOOL, positions="9")
    before = count(register, "clinic_toolmounted")
    fill_in_a_swap(page)
    page.reload()
    expect(page.get_by_text("Not sent yet: what you typed here")).to_be_visible()
    expect(page.locator("main [name=position]")).to_have_value("9")
    expect(page.locator("main [name=still]")).to_be_checked()
    expect(page.locator("main [name=clicked]")).not_to_be_checked()

    page.get_by_role("button", name="Check the choice").click()
    expect(page.locator("main")).to_contain_text("Tool, position and driver fit.")
    expect(page.get_by_text("Not sent yet: what you typed here")).to_be_hidden()
    page.locator("main [name=clicked]").check()
    page.locator("main [name=counted_in]").fill("6")
    sent_after_a_dead_network(page, "Save the swap")
    assert count(register, "clinic_toolmounted") == before + 1


def test_a_swap_that_is_refused_says_so_at_its_fields_and_stays(page: Page) -> None:
    page.goto(f"/{SITE}/upkeep/tools/")
    page.get_by_role("link", name=f"Swap a tool in {UNIT}").click()
    page.locator("main [name=counted_out]").fill("5")
    page.get_by_role("button", name="Save the swap").click()
    expect(page.locator("#div_id_position")).to_contain_text("Write which position.")
    expect(page.locator("main [name=counted_out]")).to_have_value("5")
