"""The register's front door, in a real browser."""

import pytest
from django.core.management import get_commands
from playwright.sync_api import Page, expect

from tests.browser.conftest import keep_inside

pytestmark = pytest.mark.skipif("demo" not in get_commands(), reason="manage.py demo does not exist yet")


def test_a_stranger_meets_the_sign_in(page: Page) -> None:
    page.goto("/")
    assert "/sign-in/" in page.url
    expect(page.get_by_role("heading", level=1)).to_have_count(1)


def test_the_pages_type_comes_from_the_register_itself(page: Page) -> None:
    page.goto("/sign-in/")
    assert page.evaluate("async () => { await document.fonts.ready; return document.fonts.size > 0 }")


class OtherHost:
    """Stands for a request of a page to another host."""

    class request:
        url = "https://elsewhere.example/script.js"

    aborted = False

    def abort(self) -> None:
        self.aborted = True


def test_a_request_to_another_host_is_refused_and_told() -> None:
    complaints: list[str] = []
    route = OtherHost()
    keep_inside(route, "http://127.0.0.1:8000", complaints)
    assert (route.aborted, len(complaints)) == (True, 1)
