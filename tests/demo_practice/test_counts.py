"""Every number in a head, a tile or a foot is that of the rows shown with it: each page of the demo, each site, and each role
that sees pages of its own: a coordinator sees what an owner sees, and others on duty what an assistant does."""

from collections.abc import Callable, Iterator
from functools import cache

import pytest

from clinic.models import Site
from clinic.permissions import May
from tests.demo import Demo
from tests.demo_practice.looker import Looker
from tests.demo_practice.test_walks import TABLE, site_addresses
from tests.house.addresses import link
from tests.house.counts import Node, claimed, counts_on, numbers, parsed, unmarked, wrong_counts

pytestmark = pytest.mark.django_db
# Heads with a number that counts nothing, each with what the number is.
FIGURES: dict[str, str] = {}


def page_of(looker: Looker, url: str) -> Node | None:
    answer = looker.get(url)
    return parsed(answer.text) if answer.is_page else None


def whole_list(looker: Looker, url: str, first: Node) -> list[Node]:
    """The page and those after it, where its list is cut into several."""
    pages = [first]
    while more := next((node for node in pages[-1].walk() if is_next(node)), None):
        following = page_of(looker, f"{url.split('?')[0]}{more.attrs['href']}")
        assert following is not None
        pages.append(following)
    return pages


def is_next(node: Node) -> bool:
    return node.attrs.get("rel") == "next" and any("pages" in up.words("class") for up in node.up())


def pages(looker: Looker, demo: Demo, who: str, site: Site, may: set[May]) -> Iterator[tuple[str, str, Node]]:
    person = demo.subject(site) if May.READ_SITE in may else getattr(demo, who).person
    for address in site_addresses():
        url = link(address, site, person)
        page = page_of(looker, url)
        if page is not None:
            yield address.name, url, page


@pytest.mark.parametrize("who", ["owner", "supervisor", "assistant", "officer", "inspector"])
def test_every_number_is_that_of_the_rows_shown(demo: Demo, looking: Callable[[str], Looker], who: str) -> None:
    looker, found, checked = looking(who), [], 0
    there = cache(lambda at: page_of(looker, at))
    for site, may in zip((demo.high_street, demo.ferry_lane), TABLE[who], strict=True):
        for _, url, page in pages(looker, demo, who, site, may) if may else ():
            checked += counts_on(page)
            wrong = wrong_counts(whole_list(looker, url, page), there)
            found += [f"{who} {url}: {each}" for each in wrong]
    assert not found, "\n".join(found)
    assert checked > {"inspector": 0}.get(who, 8)


def test_every_head_with_a_number_says_what_it_counts(demo: Demo, looking: Callable[[str], Looker]) -> None:
    looker, may = looking("owner"), TABLE["owner"][0]
    found = {
        name: heads
        for name, _, page in pages(looker, demo, "owner", demo.high_street, may)
        if name not in FIGURES and (heads := unmarked(page))
    }
    assert found == {}, "\n".join(f"{name}: {heads}" for name, heads in found.items())


ROWS = '<ul><li data-row="a">x</li><li data-row="a b">y</li></ul>'


@pytest.mark.parametrize(
    ("html", "faults"),
    [
        (f'<h1 data-counts="a b">2 of one on 3 March 2026, P05</h1>{ROWS}', 0),
        (f'<h1 data-counts="a">Three are late</h1>{ROWS}', 1),
        (f'<h1 data-counts="a">Nothing is late. All is in time.</h1>{ROWS}', 1),
        (f'<h1 data-counts="c">Everything is in time.</h1>{ROWS}', 0),
        (f'<h1 data-counts="a">Some are late</h1>{ROWS}', 1),
        (f'<section data-within><h2 data-counts="a">2</h2>{ROWS}</section>{ROWS}', 0),
        (f'<section><h2 data-counts="a">2</h2>{ROWS}</section>{ROWS}', 1),
        ('<b data-counts="d">9,474 days</b><i data-row="d" data-times="9474"></i>', 0),
        ('<b data-counts="d">99 days</b><i data-row="d" data-times="9474"></i>', 1),
    ],
)
def test_a_number_that_is_not_that_of_its_rows_would_be_found(html: str, faults: int) -> None:
    assert len(wrong_counts([parsed(html)])) == faults


def test_a_tile_that_leads_elsewhere_is_counted_there() -> None:
    page, there = parsed('<b data-counts="a" data-at="/x/">3 stop</b>'), parsed(ROWS)
    assert len(wrong_counts([page], lambda at: there if at == "/x/" else None)) == 1


@pytest.mark.parametrize("head", ["<h1>3 duties are short</h1>", "<h2>two of nine</h2>", "<caption>4 late</caption>"])
def test_a_head_that_counts_without_saying_what_would_be_found(head: str) -> None:
    assert unmarked(parsed(head))


def test_days_codes_and_marked_counts_are_no_unmarked_numbers() -> None:
    html = '<h1>P05 on 3 March 2026: <b data-counts="a">3 duties</b></h1>'
    assert unmarked(parsed(html)) == []


def test_numbers_are_read_in_words_and_figures() -> None:
    assert numbers("Three things need you: two of 1,204, none late on 3 March 2026 at 10:30 (P05)") == [3, 2, 1204, 0]
    assert claimed("Every duty is covered", ["a", "b"]) == [0, 0]
