"""The register's front door, in a real browser."""

import pytest
from django.core.management import get_commands
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import tell_of_others

pytestmark = pytest.mark.skipif("demo" not in get_commands(), reason="manage.py demo does not exist yet")


def test_a_stranger_meets_the_sign_in(page: Page) -> None:
    page.goto("/")
    assert "/sign-in/" in page.url
    expect(page.get_by_role("heading", level=1)).to_have_count(1)


def test_the_pages_type_comes_from_the_register_itself(page: Page) -> None:
    page.goto("/sign-in/")
    assert page.evaluate("async () => { await document.fonts.ready; return document.fonts.size > 0 }")


@pytest.mark.parametrize("other", ["http://elsewhere.example", "http://192.0.2.7"])
def test_a_request_to_another_host_is_told_and_reaches_nobody(chromium: Browser, other: str) -> None:
    complaints: list[str] = []
    context = chromium.new_context()
    tell_of_others(context, "http://127.0.0.1:8000", complaints)
    page = context.new_page()
    with page.expect_event("requestfailed") as failed:
        page.set_content(f"<img src='{other}/picture.png' alt=''>")
    assert failed.value.failure == "net::ERR_NAME_NOT_RESOLVED"
    assert complaints == [f"asked of another host: {other}/picture.png"]
    context.close()
