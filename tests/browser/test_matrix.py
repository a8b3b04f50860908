"""The matrix by keyboard, and what of it is out of sight."""

import re
from collections.abc import Callable

from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.test_whole_job import SITE, SignIn, passphrase

__all__ = ["passphrase"]  # a fixture
PLACE = """() => {
  const cell = document.activeElement.closest('td, th');
  return cell ? [cell.parentElement.rowIndex, cell.cellIndex] : null;
}"""


def test_the_matrix_says_what_is_out_of_sight_and_goes_by_arrows(
    open_context: Callable[..., BrowserContext], sign_in: SignIn, passphrase: str
) -> None:
    page: Page = open_context(viewport={"width": 820, "height": 1180}).new_page()
    sign_in(page, "marit.oldenburg", passphrase)
    page.goto(f"/{SITE}/people/matrix/")
    says = page.locator("[data-out-of-sight]")
    expect(says).to_be_visible()
    hidden = int(re.search(r"\d+", says.inner_text()).group())  # type: ignore[union-attr]
    page.locator(".matrix-frame").evaluate("(frame) => { frame.scrollLeft = 300; }")
    expect(says).not_to_contain_text(f"{hidden} columns")
    page.locator(".matrix-frame").evaluate("(frame) => { frame.scrollLeft = frame.scrollWidth; }")
    expect(says).to_be_hidden()

    page.locator("table.matrix tbody a.cell").first.focus()
    row, column = page.evaluate(PLACE)
    page.keyboard.press("ArrowDown")
    down, _ = page.evaluate(PLACE)
    page.keyboard.press("End")
    _, last = page.evaluate(PLACE)
    page.keyboard.press("Home")
    assert down > row and last > column
    assert page.locator("table.matrix a[tabindex='0']").count() == 1
