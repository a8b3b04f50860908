"""The sample page in a real browser: axe-core finds nothing, nothing is wider than the window, the CSP refuses nothing.

Sources: WCAG 2.2 SC 1.4.10 (no sideways scroll at 320 CSS px), 1.4.12 (text spacing), 2.4.11 (focus not hidden) and
2.5.8 (targets of at least 24 px).
"""

from collections.abc import Iterator
from mimetypes import guess_type
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.contrib.staticfiles import finders
from playwright.sync_api import Browser, Page, Route

from tests.clinic.test_look import sample_page

HOST = "http://register.test"
POLICY = {"content-security-policy": "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'"}
TOO_SMALL = """[...document.querySelectorAll('a, button, select, summary, input')].filter((each) => {
  const box = each.getBoundingClientRect();
  const inText = getComputedStyle(each).display === 'inline' && each.matches('a');
  return box.width && !inText && (box.width < 24 || box.height < 24);
}).map((each) => each.outerHTML)"""
HIDDEN = """(() => {
  const here = document.activeElement, box = here.getBoundingClientRect();
  const hit = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
  return hit && hit.closest('.rail') && !here.closest('.rail') ? here.outerHTML : '';
})()"""
SPACED = "* { line-height: 1.5 !important; letter-spacing: .12em !important; word-spacing: .16em !important }"


def answered(route: Route, html: str) -> None:
    path = route.request.url.removeprefix(HOST)
    if path == "/":
        route.fulfill(body=html, headers={"content-type": "text/html", **POLICY})
    elif path.startswith("/static/"):
        found = finders.find(path.removeprefix("/static/"))
        route.fulfill(body=Path(found).read_bytes(), content_type=guess_type(found)[0])
    else:  # work in progress: nothing new yet
        route.fulfill(status=204)


@pytest.fixture
def page(chromium: Browser, request: pytest.FixtureRequest) -> Iterator[Page]:
    """The sample page, with whatever the console says collected in `page.said`."""
    shown = chromium.new_page(**getattr(request, "param", {"viewport": {"width": 820, "height": 1180}}))
    shown.said = []
    html = sample_page()
    shown.on("console", lambda message: shown.said.append(message.text))
    shown.on("pageerror", lambda error: shown.said.append(str(error)))
    shown.route("**/*", lambda route: answered(route, html))
    shown.goto(f"{HOST}/", wait_until="load")
    yield shown
    shown.close()


SIZES = [{"viewport": {"width": width, "height": 900}} for width in (320, 390, 820, 1440)]
MODES = [
    {"viewport": {"width": 820, "height": 1180}, "color_scheme": scheme, "contrast": contrast}
    for scheme in ("light", "dark")
    for contrast in ("no-preference", "more")
]


@pytest.mark.parametrize("page", SIZES, indirect=True, ids=lambda size: str(size["viewport"]["width"]))
def test_nothing_scrolls_sideways_and_every_target_can_be_hit(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    assert page.evaluate(TOO_SMALL) == []


@pytest.mark.parametrize("page", MODES, indirect=True, ids=lambda mode: f"{mode['color_scheme']}-{mode['contrast']}")
def test_axe_finds_nothing_in_any_mode(page: Page) -> None:
    found = Axe().run(page).response["violations"]
    assert [(each["id"], each["nodes"][0]["html"]) for each in found] == []


def test_the_strict_policy_refuses_nothing_and_all_files_are_there(page: Page) -> None:
    assert page.said == []
    assert page.evaluate(
        "document.fonts.check('700 19px Bench') && [...document.fonts].some(f => f.status === 'loaded')"
    )


@pytest.mark.parametrize("page", [{"viewport": {"width": 320, "height": 900}, "bypass_csp": True}], indirect=True)
def test_wider_text_spacing_still_fits(page: Page) -> None:
    page.add_style_tag(content=SPACED)
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")


def test_keyboard_focus_is_never_hidden_by_the_rail(page: Page) -> None:
    page.locator("main").focus()
    seen = []
    for _ in range(30):
        page.keyboard.press("Tab")
        seen.append(page.evaluate(HIDDEN))
    assert not any(seen)
