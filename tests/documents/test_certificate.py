"""A certificate says one sentence, what it rests on, who signed it, where to ask, and what it is not."""

import re
from itertools import pairwise
from typing import Any

import pytest

from tests.documents.made_up import LONG, certificate
from tests.documents.pieces import PAPERS
from tests.documents.reading import links, read, words
from training.documents import certificate as certificates
from training.documents.certificate import laid_out
from training.documents.certificate_content import days_said, performances, rows, sentence
from training.rules.elements import NAMES

MANY: dict[str, Any] = {
    "person": LONG,
    "signer": LONG,
    "organisation": LONG,
    "address": LONG * 3,
    "procedure_title": LONG,
    "statement": LONG * 5,
    "maker": LONG * 2,
    "unit": LONG,
    "watched_on": [f"2026-06-{n:02}" for n in range(1, 29)],
    "watched_by": [LONG] * 3,
    "rests_on": [f"P{n:02}" for n in range(30)],
}


def shown(**changes: Any) -> str:
    return words(certificates.build(certificate(**changes)))


def test_it_says_who_may_do_what_on_which_unit_through_which_day() -> None:
    assert "Ines Okafor may work alone at tool swap, on unit 2, through 11 February 2027." in shown()


def test_without_a_last_day_or_a_unit_it_claims_neither() -> None:
    text = shown(through="", unit="")
    assert "may work alone at tool swap." in text
    assert "no last day set" in text and "any unit of its kind there" in text


def test_it_names_place_version_basis_prerequisites_and_watchers() -> None:
    text = shown()
    assert "P03 Tool swap, version 4, in force since 1 June 2026" in text
    assert "Harbour Row, unit 2" in text
    assert "P01, P02; all good on the day of signing" in text
    assert "observed; no number was lowered" in text
    assert "Tomas Lindqvist, lead assistant · Dr Marguerite Achterberg, dentist" in text
    assert "16 and 30 June, 14 and 28 July 2026" in text


def test_a_lowered_number_is_told() -> None:
    assert "distinct supervisors: 1 instead of 2" in shown(
        lowered="distinct supervisors: 1 instead of 2, all there are"
    )


def test_printed_name_day_time_and_meaning_stand_together() -> None:
    """E-13: 21 CFR 11.50(a)(1)-(3)."""
    text = shown(statement="She may do it as version 4 describes it.")
    assert "Tomas Lindqvist lead assistant, on 11 August 2026 at 16:20, by PIN on the bench tablet." in text
    assert (
        "Meaning: I watched her do this. She may work on it alone. “She may do it as version 4 describes it.”" in text
    )


@pytest.mark.parametrize("seen", [1, 5, 28])
def test_few_performances_are_counted_and_never_a_percentage(seen: int) -> None:
    """S-26 (own rule, D): three clean ones support no more than 37 % at 95 % confidence."""
    text = shown(performances=seen, performances_clean=seen)
    assert f"{seen} of {seen} observed performances met every critical step" in text
    assert not re.search(r"\d\s*%|per ?cent", text)


def test_nothing_observed_is_said_and_not_counted() -> None:
    assert "no performance was observed" in performances(certificate(performances=0, performances_clean=0))
    assert "nobody; see the basis" in shown(watched_by=[], performances=0, performances_clean=0)


def test_it_names_all_six_elements_and_gives_no_mark_for_the_one_that_was_not_watched() -> None:
    """K-01: 42 CFR 493.1413(b)(8)(i)-(vi); K-06 (own mapping, D); K-05: the pattern is borrowed."""
    how = [certificates.Element(name, n < 5, "5 assessments watched" if n < 5 else "") for n, name in enumerate(NAMES)]
    text = shown(elements=how)
    assert all(f"{name}: 5 assessments watched" in text for name in NAMES[:5])
    assert f"{NAMES[5]}: no part of what was watched" in text
    assert not re.search(r"\d of 6|not covered", text)  # a description, not a mark
    assert "a borrowed pattern; that rule is for laboratories and does not apply to milling" in text


def test_it_leads_to_its_check_page_and_names_the_seal_it_rests_on() -> None:
    text = shown()
    assert "number 0412, code OAK-71-TIDE" in text
    assert "It rests on seal 9c1f 44e0 a27d." in text
    assert links(certificates.build(certificate())) == ["https://register.example/c/OAK71TIDE"]


def test_where_nobody_knows_an_address_it_names_none() -> None:
    text = shown(check_url="")
    assert "Ask the practice: number 0412, code OAK-71-TIDE." in text and "/check/" not in text
    assert links(certificates.build(certificate(check_url=""))) == []


def test_what_is_not_in_force_any_more_has_that_across_it_and_all_else_below() -> None:
    text = words(certificates.build(certificate(), across="Not in force: withdrawn on 3 March 2027."))
    assert "Not in force: withdrawn on 3 March 2027." in text and "This is not the paper that was issued" in text
    assert "may work alone at tool swap, on unit 2" in text and "number 0412, code OAK-71-TIDE" in text


def test_it_says_that_it_is_no_licence_and_what_comes_first() -> None:
    text = shown()
    assert "This is no licence." in text
    assert "The maker’s instructions, local rules and licensed practice come first." in text
    assert "Checked against the maker’s instructions, edition 7." in text


SHEET = "4 February 2026, sheet 0001, entered by Bram Okafor on 6 February 2026"


@pytest.mark.parametrize("paper", PAPERS)
def test_the_foot_says_what_was_written_on_paper_first(paper: str) -> None:
    assert "From paper" not in shown(paper=paper)
    foot = shown(paper=paper, from_paper=[SHEET] * 5)
    assert foot.count(SHEET) == 3 and "2 more, which the check page names. Checked against" in foot
    data = certificates.build(certificate(paper=paper, **(MANY | {"from_paper": [LONG + SHEET] * 5})))
    assert len(read(data).pages) == 1


@pytest.mark.parametrize("paper", PAPERS)
def test_the_longest_names_stay_on_one_page_and_markup_is_shown_as_typed(paper: str) -> None:
    data = certificates.build(certificate(paper=paper, **MANY))
    assert len(read(data).pages) == 1
    assert "<b>Łukaszewska</b> de la Fontaine-Achterberg & Sons may work alone" in words(data)
    assert "27 and 28 June 2026" in words(data)
    assert "more words" not in words(data)


@pytest.mark.parametrize("paper", PAPERS)
def test_no_two_lines_of_the_facts_stand_in_each_other(paper: str) -> None:
    heights: list[float] = []

    def visit(text: str, cm: Any, tm: Any, font: Any, size: float) -> None:
        if text.strip() and 150 < tm[4] < 400:
            heights.append(tm[5])

    read(certificates.build(certificate(paper=paper, **MANY))).pages[0].extract_text(visitor_text=visit)
    steps = [above - below for above, below in pairwise(sorted(set(heights), reverse=True))]
    assert steps and min(steps) > 5


def test_what_cannot_fit_even_in_the_least_type_is_counted() -> None:
    size, laid = laid_out([("Watched by", LONG * 60)], 300, 200)
    assert size == 6.5
    assert re.fullmatch(r"… and \d+ more words, which the check page shows in full", laid[0][1][-1])


def test_a_title_that_starts_with_an_abbreviation_keeps_its_capitals() -> None:
    assert "alone at SDS shelf" in sentence(certificate(procedure_title="SDS shelf"))


def test_days_of_two_years_are_said_with_their_years() -> None:
    assert days_said(["2026-01-03", "2025-12-30", "2025-12-31"]) == "30 and 31 December 2025, 3 January 2026"


def test_a_replaced_certificate_is_named_on_the_one_that_replaces_it() -> None:
    assert "replaces harbour-row-2026-0003" in shown(replaces="harbour-row-2026-0003")


def test_every_row_has_words() -> None:
    assert all(label and said for label, said in rows(certificate()))
