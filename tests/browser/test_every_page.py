"""Every page that the owner can come to by links, in a real browser: nothing is wider than a small phone, every control can
be hit with a thumb, axe-core finds nothing, and what is no text to read is no longer than two screens of a tablet.

Sources: WCAG 2.2 SC 1.4.10 (no sideways scroll at 320 CSS px), SC 2.5.5 (targets of 44 px), axe-core's rules.
"""

import re
from collections.abc import Callable, Iterator
from urllib.parse import urljoin, urlparse

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import BrowserContext, Page, Route, ViewportSize

from tests.browser.conftest import Register

SITE, OWNER = "high-street", "marit.oldenburg"
PHONE: ViewportSize = {"width": 320, "height": 800}
TABLET: ViewportSize = {"width": 820, "height": 1180}
LEAST = 70  # pages of different kinds: a walk over fewer has lost its way
TOO_WIDE = "document.documentElement.scrollWidth > document.documentElement.clientWidth"
TOO_SMALL = """[...document.querySelectorAll('button, select, summary, textarea, a.button, input, nav a')].filter((each) => {
  const area = each.matches('[type=checkbox], [type=radio]') ? each.closest('.tick') : each;
  const box = area ? area.getBoundingClientRect() : { width: 0 };
  return box.width && (box.width < 44 || box.height < 43.5);
}).map((each) => each.outerHTML.slice(0, 120))"""
UNDER_THE_RAIL = """[...document.querySelectorAll('main button, main a.button')].filter((each) => {
  if (!each.getBoundingClientRect().height) return false;
  each.scrollIntoView({ block: 'nearest' });
  const box = each.getBoundingClientRect();
  return document.elementFromPoint(box.x + box.width / 2, box.y + box.height - 3)?.closest('.rail');
}).map((each) => each.outerHTML.slice(0, 120))"""
LINKS = "[...document.querySelectorAll('a[href]')].map((each) => each.href)"
PARTS = (r"[0-9a-f]{8}-[0-9a-f-]{27}", r"\d{4}-\d\d-\d\d", r"\b[PTU]\d\d\b", r"\b\d+\b")
# One performance is watched on a tablet: the bench has its own tests. Signing out would end the walk.
LEFT_OUT = ("/sign-out/", "/observe/bench/")

MOST = 2500  # px at a tablet's width: exceptions open, order folded
LONG = {  # pages that may be longer, and why
    "/high-street/procedures/*/": "a text to read, of which no step may be folded away",
    "/high-street/procedures/*/draft/preview/": "the same text, as whoever approves it has to read it",
    "/high-street/procedures/*/draft/policy/": "one decision: each field changes what the others mean, so none is folded away",
    "/high-street/people/roster/authority/new/": "one decision: what is granted is chosen by area or one by one, and seen whole",
    "/high-street/people/roster/going-live/signers/": "a table to be filled in, in one sitting",
    "/high-street/upkeep/unit/*/swap/": "done at the unit from top to bottom, in the order of the work",
}


# The browser's own bubble speaks its own language, names one field at a time and hides the page's sentence.
BUBBLES = "[...document.forms].filter((each) => !each.noValidate && each.querySelector('[required]')).map((each) => each.outerHTML.slice(0, 120))"


def kind(url: str) -> str:
    """The address without what differs between two pages of one kind."""
    path = urlparse(url).path
    for part in PARTS:
        path = re.sub(part, "*", path)
    return path


FAULTS_ONLY = {"resultTypes": ["violations"]}  # what passes need not be described element by element
NO_PAGE = "<meta name='no-page'>"


def pages_only(route: Route) -> None:
    """What is no page would open in the browser's own viewer, or be saved: the walk is given an empty one for it."""
    if not route.request.is_navigation_request():
        route.fallback()
        return
    answer = route.fetch()
    if "text/html" in answer.headers.get("content-type", ""):
        route.fulfill(response=answer)
    else:
        route.fulfill(body=NO_PAGE, content_type="text/html")


def walk(page: Page, home: str) -> Iterator[str]:
    """One page of each kind; the reader of this stands on it."""
    page.route("**/*", pages_only)
    waiting, seen = [f"{home}/{SITE}/today/"], {kind(f"/{SITE}/today/")}
    while waiting:
        url = waiting.pop(0)
        page.goto(url, wait_until="load")
        if page.locator("meta[name=no-page]").count():
            continue
        yield url
        for link in (urljoin(url, each).split("#")[0] for each in page.evaluate(LINKS)):
            ours = link.startswith((f"{home}/{SITE}/", f"{home}/account/")) and not any(
                part in link for part in LEFT_OUT
            )
            if ours and kind(link) not in seen:
                seen.add(kind(link))
                waiting.append(link)


def faults(page: Page) -> list[str]:
    page.set_viewport_size(PHONE)
    wide = ["wider than the phone"] if page.evaluate(TOO_WIDE) else []
    small = [f"too small: {html}" for html in page.evaluate(TOO_SMALL)]
    small += [f"checked by the browser: {html}" for html in page.evaluate(BUBBLES)]
    small += [f"under the rail: {html}" for html in page.evaluate(UNDER_THE_RAIL)]
    page.set_viewport_size(TABLET)
    found = Axe().run(page, options=FAULTS_ONLY).response["violations"]
    return wide + small + [f"{each['id']}: {each['nodes'][0]['html'][:120]}" for each in found]


OF_OTHERS = {  # and the owner comes to none of them
    "/high-street/sheets/*/": "what whoever watched signs has to be read whole",
    "/high-street/people/roster/going-live/carried-over/": "a table to be filled in, with a line for each record",
}


def too_long(page: Page, url: str) -> list[str]:
    """On a tablet, where `faults` leaves the page."""
    height = page.evaluate("document.documentElement.scrollHeight")
    return [f"{height} px long"] if height > MOST and kind(url) not in LONG | OF_OTHERS else []


def test_every_page_fits_a_phone_a_thumb_and_a_reader(
    open_context: Callable[..., BrowserContext], sign_in: Callable[[Page, str, str], None], register: Register
) -> None:
    page = open_context().new_page()
    sign_in(page, OWNER, re.search(r"made just now:\s+(.+?)\s*\n", register.printed)[1])  # type: ignore[index]
    found = {url: faults(page) + too_long(page, url) for url in walk(page, register.url)}
    wrong = [f"{url}: {fault}" for url, those in found.items() for fault in those]
    assert not wrong, "\n".join(wrong)
    assert len(found) >= LEAST
    assert set(LONG) <= {kind(url) for url in found}, "an exception for a page that is not there"


@pytest.mark.parametrize("who", ["philippa.thorne", "noor.haddad", "delphine.marchetti", "arthur.penhaligon"])
def test_no_page_is_too_long_for_anybody_else(
    open_context: Callable[..., BrowserContext], sign_in: Callable[[Page, str, str], None], register: Register, who: str
) -> None:
    """A supervisor, an assistant, the coordinator and the safety officer: pages differ by who looks."""
    page = open_context().new_page()
    page.set_viewport_size(TABLET)
    sign_in(page, who, re.search(r"made just now:\s+(.+?)\s*\n", register.printed)[1])  # type: ignore[index]
    found = {url: too_long(page, url) for url in walk(page, register.url)}
    wrong = [f"{url}: {fault}" for url, those in found.items() for fault in those]
    assert not wrong and len(found) > 15, "\n".join(wrong)


DARK = (  # one of each way of drawing something: tables, boards, trays, rules, boxes, refusals
    "today/", "today/who-may/", "people/", "people/matrix/", "people/roster/going-live/signers/",
    "people/roster/going-live/site-facts/", "procedures/P03/", "procedures/P03/draft/", "upkeep/", "upkeep/stock/",
    "upkeep/water/", "audit/", "audit/coverage/", "audit/owner/",
)  # fmt: skip


def pale(page: Page) -> list[str]:
    """What cannot be read for want of contrast, folded or not (SC 1.4.3)."""
    page.evaluate("document.querySelectorAll('main details').forEach((each) => { each.open = true; })")
    found = Axe().run(page, options=FAULTS_ONLY | {"runOnly": ["color-contrast"]}).response["violations"]
    return [node["html"][:120] for each in found for node in each["nodes"]]


def test_in_the_dark_every_kind_of_page_can_be_read(
    open_context: Callable[..., BrowserContext], sign_in: Callable[[Page, str, str], None], register: Register
) -> None:
    page = open_context(color_scheme="dark").new_page()
    sign_in(page, OWNER, re.search(r"made just now:\s+(.+?)\s*\n", register.printed)[1])  # type: ignore[index]
    found = {}
    for address in DARK:
        answer = page.goto(f"/{SITE}/{address}")
        assert answer and answer.ok, address
        found[address] = pale(page)
    assert {address: those for address, those in found.items() if those} == {}


def test_a_page_that_is_too_pale_would_be_found(page: Page) -> None:
    page.set_content("<main><details><p style='color: #888; background: #999'>words</p></details></main>")
    assert len(pale(page)) == 1


def test_a_page_that_is_too_wide_or_too_small_to_hit_would_be_found(page: Page) -> None:
    page.set_content(
        "<main><h1>a</h1><div style='width: 900px'>a</div><button style='height: 9px'>b</button></main>"
        "<nav class='rail' style='position: fixed; inset: 0'></nav>"
    )
    found = faults(page)
    assert all(any(each.startswith(start) for each in found) for start in ("wider", "too small", "under the rail"))


def test_a_page_that_is_too_long_would_be_found(page: Page) -> None:
    page.set_content("<main><h1>a</h1><div style='height: 2600px'>a</div></main>")
    assert too_long(page, "http://a/high-street/audit/") and not too_long(page, "http://a/high-street/procedures/P01/")
