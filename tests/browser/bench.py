"""What a supervisor does on the tablet, step by step, for the tests that watch it."""

import re

from playwright.sync_api import Page

BETWEEN_MARKS = 450  # milliseconds: a tap that follows a mark within 400 does nothing
SENT = re.compile(r"/observe/[0-9a-f-]{36}/$")


def begin(page: Page, site: str, person: str, procedure: str, method: str, unit: str = "") -> None:
    """Choose everything that is chosen before the first mark, and open the bench. What concerns the whole site has no unit."""
    page.goto(f"/{site}/observe/begin/?person={person}")
    unfold(page)
    page.get_by_role("checkbox", name=procedure).check()
    page.get_by_label(re.compile("^Assessment")).check()
    page.get_by_label(method).check()
    if unit:
        options = page.locator("select[name=equipment] option").all_inner_texts()
        page.locator("select[name=equipment]").select_option(label=next(word for word in options if unit in word))
    page.get_by_role("button", name="Begin", exact=True).click()
    page.locator(".mark-dock").wait_for()


def unfold(page: Page) -> None:
    """Open what stands behind the card that is filled in."""
    if page.locator("details:not([open]) select[name=person]").count():
        page.get_by_text("Somebody else, another procedure, unit or way").click()


def mark_all(page: Page, reload_after: int | None = None) -> int:
    """Mark every step alone, or asked where the step has a when; once, the tablet is reloaded. Returns the steps marked."""
    marked, dock = 0, page.locator(".mark-dock .mark-buttons").first
    while dock.is_visible():
        asked = page.get_by_role("button", name=re.compile("^asked"))
        (asked if asked.is_visible() else page.get_by_role("button", name=re.compile("^alone"))).click()
        page.wait_for_timeout(BETWEEN_MARKS)
        marked += 1
        if marked == reload_after:
            page.reload()
            dock.wait_for()
    return marked


def send(page: Page) -> None:
    page.get_by_label("Ready to work alone").check()
    page.get_by_role("button", name="Send the observation").click()
    page.wait_for_url(SENT)
