"""What pages and papers of the demo say: sentences, with the site's own facts in them, and never what a machine keeps."""

import re
from collections.abc import Callable, Iterator
from io import BytesIO
from typing import Any

import pytest
from pypdf import PdfReader

from clinic.facts import fact_models
from clinic.models import Seal, Site
from clinic.permissions import May
from tests.demo import Demo
from tests.demo_practice.looker import Looker
from tests.demo_practice.test_walks import TABLE, site_addresses
from tests.house.addresses import link
from tests.house.counts import Node, parsed
from tests.training.test_rare_facts import RARE
from training.models import Issue, Observation

pytestmark = pytest.mark.django_db
RAW = {
    "an unfilled site fact": re.compile(r"\{[a-z][a-z ’-]*\}"),
    "a key of a step": re.compile(r"\([sq]\d\d\)"),
    "a case that nobody decided": re.compile(r"if there is one\b"),
    "one of several": re.compile(r"(?<![\d.,])\b1 (?:days|parts|people|steps|months|units|cycles|hours|minutes)\b"),
    "every one": re.compile(r"\bevery 1 \w+\b", re.I),
    "a whole of one": re.compile(r"\bof 1 (?:parts|cycles|days|steps|people)\b"),
    "nobody who watched": re.compile(r"\bby no different people\b"),
    "a mark that is no need": re.compile(r"\b\d+ (?:of \d+ )?asked\b"),
}
NO_SENTENCE = {
    "a column of the database": re.compile(r"\b[a-z]+_[a-z_]+\b"),
    "a stored list or mapping": re.compile(r"[\[\]{}]|': "),
    "nothing in the machine's word": re.compile(r"\b(?:None|True|False|null)\b"),
    "a key": re.compile(r"\b[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}\b"),
    "two stops": re.compile(r"\.\.(?!\.)|\.;|,,| \.|:\."),
}
PAPERS = {"training:wall_card", "training:blank_checklist"}


def raw_in(text: str, patterns: dict[str, re.Pattern[str]] = RAW) -> list[str]:
    return [f"{name}: …{text[max(0, at.start() - 40) : at.end() + 20]}…" for name, p in patterns.items() for at in p.finditer(text)]  # fmt: skip


INLINE = {"a", "b", "span", "code", "i", "em", "strong", "small", "del", "ins"}


def without_scripts(node: Node) -> str:
    """What is read, and what is heard or shown where nothing is typed."""
    heard = [node.attrs[name] for name in ("aria-label", "placeholder", "title") if node.attrs.get(name)]
    parts = (
        bit if isinstance(bit, str) else "" if bit.tag in ("script", "style") else f"{without_scripts(bit)}{' ' * (bit.tag not in INLINE)}"
        for bit in node.bits
    )  # fmt: skip
    said = "".join(parts) if node.tag in INLINE else " ".join("".join(parts).split())
    return " ".join([*heard, said])


def read(looker: Looker, url: str) -> str | None:
    """The words of a page or a paper; None where the address answers with neither."""
    answer = looker.get(url)
    if answer.is_page:
        return without_scripts(parsed(answer.text))
    if answer.is_paper:
        return " ".join(page.extract_text() for page in PdfReader(BytesIO(answer.content)).pages)
    return None


# An address of a binder's paper draws hundreds of pages; its words are read from what it was made of.
LONG = {"training:binder_pdf"}
# Where a text is written, a site fact stands as its author writes it: {stop control}.
WRITTEN_HERE = {"training:draft_steps", "training:draft_words", "training:draft_questions"}


@pytest.mark.parametrize("who", ["owner", "assistant"])
def test_no_page_or_paper_says_what_a_machine_keeps(demo: Demo, looking: Callable[[str], Looker], who: str) -> None:
    looker, found, papers = looking(who), [], set()
    for site, may in zip((demo.high_street, demo.ferry_lane), TABLE[who], strict=True):
        person = demo.subject(site) if May.READ_SITE in may else getattr(demo, who).person
        for address in site_addresses() if may else ():
            text = read(looker, url := link(address, site, person)) if address.name not in LONG | WRITTEN_HERE else None
            papers |= {address.name} & PAPERS if text else set()
            found += [f"{who} {url}: {each}" for each in raw_in(text or "")] if text else []
    assert not found, "\n".join(found)
    assert who != "owner" or papers == PAPERS


def test_no_binder_says_what_a_machine_keeps(demo: Demo) -> None:
    binders = Issue.objects.filter(document=Issue.Kind.BINDER)
    found = [f"{row.number}: {each}" for row in binders for words in texts_in(row.frozen) for each in raw_in(words)]
    assert not found, "\n".join(found[:40])
    assert binders.exists()


def texts_in(value: Any) -> Iterator[str]:
    """Every text of a frozen content."""
    if isinstance(value, str):
        yield value
    for part in value.values() if isinstance(value, dict) else value if isinstance(value, list) else ():
        yield from texts_in(part)


def faces(site: Site) -> list[Seal]:
    """The first and the last fact of each kind at the site, and one that was put right."""
    rows = Seal.objects.filter(site=site)
    kinds = rows.order_by("kind").values_list("kind", flat=True).distinct()
    of_kind = [rows.filter(kind=kind).order_by("position") for kind in kinds]
    ends = [seal for found in of_kind for seal in (found.first(), found.last()) if seal]
    return list({seal.pk: seal for seal in [*ends, *rows.filter(corrects__isnull=False)[:20]]}.values())


def test_every_fact_reads_as_sentences(demo: Demo, signed_in: Any) -> None:
    client, found, kinds = signed_in(demo.owner), [], set()
    for site in (demo.high_street, demo.ferry_lane):
        for seal in faces(site):
            url = f"/{site.code}/facts/{seal.fact}/"
            page = parsed(client.get(url).content.decode())
            main = next(node for node in page.walk() if node.tag == "main")
            heads = [node.text for node in main.walk() if node.tag in ("h1", "p") and node.text]
            found += [f"{seal.kind} {url}: {each}" for each in raw_in(without_scripts(main), RAW | NO_SENTENCE)]
            found += [f"{seal.kind} {url} begins small or has no end: {h}" for h in heads if not is_sentence(h)]
            kinds.add(seal.kind)
    assert not found, "\n".join(found)
    apart = {kind.split(",")[0] for kind in RARE}  # those that the demo practice has none of
    assert not set(fact_models()) - kinds - apart, sorted(set(fact_models()) - kinds - apart)


def is_sentence(words: str) -> bool:
    """It begins large, or with a figure or a mark of speech, and it has its end. Words that are pressed are none."""
    return words in ("Take back",) or words.endswith("…") or (not words[0].islower() and words[-1] in ".!?”")


def test_whoever_reads_only_some_facts_is_led_to_no_page_that_does_not_open(demo: Demo, signed_in: Any) -> None:
    """Each link of the newest facts that an inspector and an assistant read leads somewhere."""
    seen = Observation.objects.filter(site=demo.high_street).order_by("-happened_on", "pk")
    read_by = {"inspector": seen[:40], "assistant": seen.filter(person=demo.assistant.person)[:6]}
    for who, rows in read_by.items():
        client = signed_in(getattr(demo, who))
        answers = [client.get(f"/{demo.high_street.code}/facts/{row.pk}/") for row in rows]
        opened = [parsed(answer.content.decode()) for answer in answers if answer.status_code == 200][:6]
        links = {at for page in opened for at in links_in(page)}
        assert {at: client.get(at).status_code for at in links} == dict.fromkeys(links, 200), who
        assert opened, who


def links_in(page: Node) -> list[str]:
    main = next(node for node in page.walk() if node.tag == "main")
    found = [node.attrs["href"] for node in main.walk() if node.tag == "a"]
    return [at for at in found if "take-back" not in at]


@pytest.mark.parametrize(
    "text",
    ["Press {stop control}.", "Missing: s (s03).", "Notes (if there is one)", "in 1 days", "Every 1 day", "10 of 1 parts", "Watched by no different people", "2 asked"],
)  # fmt: skip
def test_a_text_that_a_machine_wrote_would_be_found(text: str) -> None:
    assert len(raw_in(text)) >= 1


@pytest.mark.parametrize("text", ["valid_until: 3", "['a']", "Seen: None.", "It slipped.."])
def test_a_fact_that_is_a_dump_of_columns_would_be_found(text: str) -> None:
    assert raw_in(text, NO_SENTENCE)


@pytest.mark.parametrize("text", ["11 days", "every day", "1.1 parts", "“asked” is a mark"])
def test_a_sentence_is_let_through(text: str) -> None:
    assert raw_in(text) == []
