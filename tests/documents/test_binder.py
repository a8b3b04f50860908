"""What a binder must hold, where its pages must be, and what it must never print."""

import gc
import io
import json
import re
from collections import Counter
from dataclasses import replace

import pypdf
import pytest
from reportlab.lib.units import mm

from clinic.rules.words import coordinator_words
from tests.documents.made_up_binder import FACT, WHO, empty, full
from tests.documents.reading import words_drawn
from training.documents.binder import content as b
from training.documents.binder.asks import BinderCounts, standard
from training.documents.binder.build import BY_KEY, SECTIONS, SHORT_PAGES, build, foot, sections
from training.documents.binder.counted import counted
from training.documents.binder.events import pattern, without
from training.documents.binder.index import place, ranges
from training.documents.binder.matrix import layout, sentence_of, title_lines, usable
from training.documents.binder.names import Names
from training.documents.binder.summary import sentence
from training.documents.paper import width_of

# K-11 of the handbook (a choice of honesty, no source), and what no register can know.
FORBIDDEN = (
    "ISO/IEC 17024 certified",
    "CLIA compliant",
    "OSHA approved",
    "1910.132(f)(4)",
    "would pass",
    "compliant",
    "required by law",
    "the law requires",
)


def read(content: b.BinderContent) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(build(content)))


def pages_of(content: b.BinderContent) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in read(content).pages]


@pytest.fixture(scope="module")
def reader() -> pypdf.PdfReader:
    return read(full())


@pytest.fixture(scope="module")
def pages() -> list[str]:
    return pages_of(full())


@pytest.fixture(scope="module")
def crowd() -> tuple[b.BinderContent, list[str]]:
    """Three hundred people, and every word as it is handed to the page: reading so many pages back takes longer."""
    content = full(300, 22)
    return content, words_drawn(content)


@pytest.mark.parametrize("content", [full(), full(short=True), full(paper="Letter")])
def test_what_is_handed_to_the_page_is_what_the_file_holds(content):
    """So that large binders may be read without making their files."""
    drawn = [Counter(page.replace(" ", "")) for page in words_drawn(content)]
    assert drawn == [Counter(page.replace(" ", "")) for page in pages_of(content)]


def page_in_contents(pages: list[str], title: str) -> int:
    contents = next(page for page in pages if "Contents Scope" in page).split("Contents Scope")[1]
    return int(re.search(rf"{re.escape(title)} .*?(\d+) (?=[A-Z])", f" Scope{contents} Z")[1])


def test_every_part_begins_on_the_page_that_contents_say(pages):
    for section in SECTIONS[3:]:
        if section.key not in ("extras", "matrix"):
            assert section.title in pages[page_in_contents(pages, section.title) - 1], section.title


def test_the_matrix_begins_on_the_page_that_contents_say(pages):
    assert "Who may do what on 25 November 2026" in pages[page_in_contents(pages, "Who may do what") - 1]


def test_a_question_names_the_page_of_its_answer(pages):
    opening = " ".join(pages[:2])
    titles = {section.key: section.title for section in SECTIONS}
    asked = [question for question in full().questions if question.section]
    for question in asked:
        at = int(re.search(rf"{re.escape(question.ask.split()[0])}.*? page (\d+)", after(opening, question.ask))[1])
        assert titles[question.section] in pages[at - 1], question.ask


def after(text: str, ask: str) -> str:
    """From the question on; its words are broken by its answer where it takes two lines."""
    return text[text.index(" ".join(ask.split()[:4])) :]


def test_a_question_about_what_is_kept_elsewhere_names_the_place(pages):
    assert "office, red shelf" in pages[0]
    assert "Kept by Dr Achterberg. Last review noted: 8 January 2026." in pages[0]


def test_the_roster_names_the_page_of_each_record(pages):
    for name, _ in WHO:
        roster = pages[page_in_contents(pages, "Roster") - 1].split("Record")[-1]
        at = int(re.search(rf"{name} .*?(?:here|2026) (\d+)", roster)[1])
        assert name in pages[at - 1]
        assert "Standing" in pages[at - 1].split(name)[1]


def test_every_page_says_whose_it_is_which_days_and_which_of_how_many(pages):
    for n, page in enumerate(pages, 1):
        assert f"page {n} of {len(pages)}" in page
        assert "Harbour Row Dental, Harbour Row · 1 Jan 2026 to 25 Nov 2026" in page
        assert "as of 25 Nov 2026 · binder B0007" in page


def test_parts_people_procedures_and_units_are_bookmarks_that_lead_to_them(reader, pages):
    marks = {mark.title: reader.get_destination_page_number(mark) for mark in flat(reader.outline)}
    assert {section.title for section in SECTIONS} - {"Further records"} <= set(marks)
    assert {name for name, _ in WHO} | {"P06 Chamber cleaning", "unit 1"} <= set(marks)
    assert all(title in pages[marks[title]] for title in ("Ines Okafor", "P06 Chamber cleaning", "unit 1"))


def flat(outline: list) -> list:
    return [mark for each in outline for mark in (flat(each) if isinstance(each, list) else [each])]


def test_contents_and_questions_are_links_inside_the_binder(reader):
    links = [note.get_object() for page in reader.pages[:2] for note in page.get("/Annots", [])]
    assert len([link for link in links if "/Dest" in link or "/D" in link.get("/A", {})]) >= len(SECTIONS)


def test_a_line_leads_to_its_fact(reader):
    addresses = {
        note.get_object()["/A"]["/URI"]
        for page in reader.pages
        for note in page.get("/Annots", [])
        if "/URI" in note.get_object().get("/A", {})
    }
    assert {f"https://register.example/facts/{FACT.format(n)}" for n in (0, 1, 2, 20, 21, 40, 71)} <= addresses


def test_a_binder_of_three_hundred_holds_everybodys_whole_record(crowd):
    content, pages = crowd
    text = " ".join(pages)
    for n, person in enumerate(content.people):
        assert text.count(person.name) >= 4, person.name
        assert f"9 of 10 right, record {n}." in text
        assert re.search(rf"prompted, record {n}\.", text)


def test_a_page_of_the_matrix_holds_its_key_and_its_counts(crowd):
    _, pages = crowd
    shown = [page for page in pages if "Who may do what on" in page]
    assert len(shown) == 22
    assert all("Good in it, of all 300" in page and "blank: not needed" in page for page in shown)


@pytest.mark.parametrize(("people", "pages"), [(1, 1), (14, 1), (15, 2), (40, 3), (300, 22)])
def test_people_stand_evenly_on_the_pages_of_the_matrix(people, pages):
    each, row = layout("A4", people)
    assert -(-people // each) == pages
    assert each - (people - each * (pages - 1)) < pages
    assert 5.8 * mm <= row <= 7.2 * mm


def test_a_long_title_stands_in_two_lines_and_a_longer_one_ends_with_dots():
    assert title_lines("Tool swap") == (9, ("Tool swap",))
    assert len(title_lines("Hazard communication and SDS for a named chemical")[1]) == 2
    assert title_lines("A very long title of a procedure " * 9)[1][1].endswith("…")


def test_a_group_says_its_name_once_and_again_where_it_goes_on():
    rows = [["tap 9", "2026-05-26", f"line {n}"] for n in range(90)]
    table = b.Extra("Water", "", ["Day", "Reading"], rows, "water", grouped=True)
    text = " ".join(words_drawn(full(extras=[table])))
    assert text.count("tap 9, continued") == text.count("Water, continued") > 0
    assert text.count("26 May 2026") == 90


def test_the_index_leads_to_pages_that_hold_the_word(crowd):
    _, pages = crowd
    entries = re.findall(r"(Person Ångström \d+) ([\d–, ]+)(?= [A-Z])", pages[-4])
    assert len(entries) > 20
    for name, numbers in entries:
        for number in re.findall(r"\d+", numbers):
            assert name in pages[int(number) - 1]


def test_the_index_names_every_page_on_which_a_person_or_a_unit_stands():
    content = full(14, 8)
    pages = words_drawn(content)
    ends = next(n for n, page in enumerate(pages) if "People Name Pages" in page)
    people = {member.name for member in content.roster}
    named = people | {year.equipment for year in content.years} | {row.equipment for row in content.upkeep}
    lists = {name: re.search(rf"{re.escape(name)} ([\d–, ]*\d)(?= |$)", " ".join(pages[ends:])) for name in named}
    listed = {name: numbers_of(found[1]) for name, found in lists.items() if found}
    assert people <= set(listed) and len(listed) > len(people)
    missing = [
        (name, n)
        for name in listed
        for n, page in enumerate(pages[:ends], start=1)
        if re.search(rf"(?<!\w){re.escape(name)}(?!\w)", page) and n not in listed[name]
    ]
    assert missing == []


def numbers_of(runs: str) -> set[int]:
    """1, 3, 4 and 5 from “1, 3–5”."""
    ends = [[int(end) for end in run.split("–")] for run in runs.split(", ")]
    return {page for run in ends for page in range(run[0], run[-1] + 1)}


def test_a_name_is_found_whole_and_the_longest_wins():
    names = Names(
        [("People", "Ann Reid"), ("People", "Ann Reid-Lowe"), ("Equipment", "mill 1"), ("Equipment", "mill 10")]
    )
    assert names.found_in("Ann Reid-Lowe stood by; Ann Reid did it on mill 10") == (
        ("People", "Ann Reid-Lowe"),
        ("People", "Ann Reid"),
        ("Equipment", "mill 10"),
    )
    assert names.found_in("Annabel Reid, Ann Reids") == ()


@pytest.mark.parametrize(("people", "procedures"), [(300, 44), (300, 22), (44, 22), (23, 22), (12, 22), (6, 6)])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_short_form_is_at_most_twelve_pages_and_says_what_it_leaves_out(people, procedures, paper):
    pages = words_drawn(crowded(people, procedures, paper))
    assert len(pages) <= SHORT_PAGES
    assert "This short form leaves out: Scope; Roster; " in " ".join(pages)


@pytest.mark.parametrize("short", [False, True])
def test_both_forms_say_how_the_register_itself_is_kept(short):
    content = full(9, 9, short=short)
    text = " ".join(" ".join(words_drawn(content)).split())
    assert "How the register itself is kept" in text
    for says in content.register:
        assert says in text
    assert "How the register itself is kept" not in " ".join(words_drawn(full(short=short, register=[])))


DOUBTS = [f"driver {n} failed on 3 March 2026 and never passed before: 2 tools." for n in range(9)]


def test_the_short_form_says_what_is_in_doubt_after_a_driver_failed():
    """The full one has the table of it."""
    text = " ".join(" ".join(words_drawn(full(9, 9, short=True, doubts=DOUBTS[:2]))).split())
    assert f"In doubt after a driver failed {DOUBTS[0]} {DOUBTS[1]} The full binder has each tool" in text
    assert DOUBTS[0] not in " ".join(words_drawn(full(9, 9, doubts=DOUBTS[:2])))
    assert "In doubt after" not in " ".join(words_drawn(full(9, 9, short=True)))


def test_of_many_failed_checks_the_short_form_says_how_many_more_there_are():
    pages = words_drawn(replace(crowded(300, 44, "Letter"), doubts=DOUBTS))
    assert "And after 5 further failed checks." in " ".join(pages) and len(pages) <= SHORT_PAGES


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_short_form_of_a_small_practice_answers_every_question_inside_it(paper):
    content = full(9, 9, short=True, paper=paper)
    pages = pages_of(content)
    assert "full binder" not in pages[0] and len(pages) <= SHORT_PAGES
    for question in content.questions:
        place = re.search(
            rf"{re.escape(question.ask.split(',')[0][:30])}.*?(page (\d+)|{re.escape(question.kept or 'no place')})",
            pages[0],
        )
        assert place, question.ask
        if place[2]:
            assert BY_KEY[question.section].title in pages[int(place[2]) - 1], question.ask


def test_a_part_fills_a_short_form_only_while_twelve_pages_hold_it():
    small, large = (" ".join(words_drawn(content)) for content in (full(9, 9, short=True), crowded(300, 44, "A4")))
    left_out = "This short form leaves out: Scope; Roster; "
    assert small.count("Nobody watched") == 0 and "A record per person" not in small.split(left_out)[1].split(".")[0]
    assert "A record per person" in large.split(left_out)[1].split(".")[0]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_short_form_that_cuts_its_tables_says_how_many_lines_it_shows(paper):
    text = " ".join(words_drawn(crowded(300, 44, paper)))
    assert re.search(r"people \d+ to \d+ of 300, procedures 1 to 27 of 44; the full binder holds the rest", text)
    assert "All 300 people, by procedure" in text
    assert re.search(r"The short form stops here: \d+ of 500 lines", text)
    assert "the full binder shows every piece of equipment" in text


def crowded(people: int, procedures: int, paper: str) -> b.BinderContent:
    small = full(people, procedures)
    return replace(
        small,
        paper=paper,
        short=True,
        late=small.late * 9,
        sessions=small.sessions * 100,
        findings=[replace(small.findings[0], says=f"Finding {n}.") for n in range(500)],
        years=[replace(small.years[0], equipment=f"unit {n}") for n in range(40)],
        kept=small.kept * 70,
        events=small.events * 70,
    )


def test_an_empty_binder_says_in_each_part_that_there_is_nothing():
    text = " ".join(pages_of(empty()))
    for words in (
        "Nobody was on the roster in the period.",
        "Nobody needs any procedure on this day.",
        "No person has a record in the period.",
        "No session was recorded in the period;",
        "No procedure was in force.",
        "No authority was held in the period: nobody could observe or sign.",
        "No equipment needed upkeep in the period",
        "No spore test was recorded in the period: no steriliser is on the register, or none was tested.",
        "No injury, near miss or other event was recorded",
        "No finding stood in the period:",
        "Nothing is noted as kept elsewhere.",
    ):
        assert words in text


def test_an_empty_binder_has_no_zero_of_zero():
    assert not re.search(r"\b0 of 0\b", " ".join(pages_of(empty())))


@pytest.mark.parametrize("content", [full(), full(short=True), empty(), full(paper="Letter")])
def test_no_forbidden_words_are_printed(content):
    text = " ".join(pages_of(content)).casefold()
    assert [words for words in FORBIDDEN if words.casefold() in text] == []


def test_the_first_sentence_speaks_only_of_what_the_register_keeps():
    assert sentence(full()) == (
        "Two things must stop, three are to be fixed, one is to be explained; three things are kept elsewhere."
    )
    assert sentence(empty()) == "Nothing that the register keeps is open; nothing is noted as kept elsewhere."
    assert sentence(empty(stop=1, kept_elsewhere=14)) == "One thing must stop; 14 things are kept elsewhere."


def test_the_matrix_says_how_many_procedures_are_held_thinly():
    assert sentence_of(2, usable(full())) == "Every procedure is held by at least two people."
    assert sentence_of(3, usable(full())) == "Four of 6 procedures are held by fewer than three people."


def events_page(content: b.BinderContent) -> str:
    text = " ".join(pages_of(content))
    return text.split("Events, without names No name is printed")[1].split("Findings, with what was done")[0]


def test_events_print_no_name_of_the_roster_however_it_was_typed():
    """O-10: identifiers are removed when the log is posted or copied (OSHA slides of the 2001 revision)."""
    typed = "INES okafor and Zoë; Tomas’s lamp. Kowalczyk saw it, said Achterberg"
    shown = events_page(full(events=[b.EventRow("2026-05-19", "near miss", typed, typed, typed, typed, typed)]))
    parts = {part for name, _ in WHO for part in re.split(r"[\s-]", name) if part != "Dr"}
    assert [
        part for part in parts if re.search(rf"\b{part}\b", shown.split("Harbour Row Dental")[0], re.IGNORECASE)
    ] == []
    assert "[name left out]" in shown


def test_an_event_keeps_device_brand_place_and_how():
    """O-09: 29 CFR 1910.1030(h)(5)(i)(A)-(C): type and brand of device, work area, how it happened."""
    shown = events_page(full())
    for words in ("ball tool, 1.0 mm", "milling bench", "the tool had not been parked"):
        assert words in " ".join(shown.split())


def test_a_clean_cutters_nick_is_not_counted_as_a_contaminated_sharp():
    """O-09: the log of 29 CFR 1910.1030(h)(5) is of injuries from contaminated sharps; one that may be counts as one."""
    rows = [
        b.EventRow("2026-05-19", "Sharps injury", "bench", "unit 1", "ball tool", "A nick.", "Nothing.", *how)
        for how in (("no", False), ("yes", True), ("unsure", True))
    ]
    count = counted(full(events=rows))
    assert (count["events"], count["logged"]) == (3, 2)
    asked = next(
        question for question in standard(BinderCounts(events=3, logged=2)) if "sharps injuries" in question.ask
    )
    assert "2 injuries by a sharp that was contaminated or may have been" in asked.answer
    shown = events_page(full(events=rows))
    assert re.search(r"Sharps\s+injury\s+no .*Sharps\s+injury\s+yes .*Sharps\s+injury\s+unsure", shown)


def test_the_part_on_events_promises_no_more_than_it_keeps():
    shown = events_page(full())
    assert "can still tell who it was" in shown and "nobody can be told" not in shown


def test_a_name_is_left_out_whole_and_in_part_and_no_other_word_is():
    names = pattern(["Dr Ana de la Cruz-Ólafsson"])
    assert without("Ana, cruz and ÓLAFSSON banana de la", names) == (
        "[name left out], [name left out] and [name left out] banana de la"
    )
    assert without("Ana", pattern([])) == "Ana"


def test_a_taught_session_prints_the_four_groups_and_the_job_title_that_day(pages):
    """O-05: 29 CFR 1910.1030(h)(2)(i): dates; contents; trainers' names and qualifications; attendees' names and titles."""
    page = pages[page_in_contents(pages, "Topics taught") - 1]
    for words in (
        "3 February 2026",
        "What splashes, what to wear",
        "Dr Marguerite Achterberg, dentist, course of 2025",
        "Handed out: a sheet of two pages. Demonstrated: gloves put on and taken off.",
    ):
        assert words in page
    assert "Callum Doyle assistant" in page
    assert "Not countable: the trainer’s qualification and one job title are missing." in page


def test_a_signature_prints_name_time_and_meaning(pages):
    """E-13: 21 CFR 11.50(a)(1)-(3); K-01: which of the six elements were covered."""
    text = " ".join(pages)
    assert "Tomas Lindqvist 11 Aug 2026, 16:20" in text
    assert "I watched this being done." in text
    assert "5 of 6: not problem solving" in text


def test_questions_asked_from_memory_of_a_source_say_so():
    said = {question.ask: question.source for question in standard(BinderCounts(sessions=1))}
    assert "from memory: check the current text" in said["Could those who were taught ask questions live?"]
    assert "check the current text" in said["Was bloodborne-pathogen training repeated within a year?"]


def test_every_question_leads_to_a_part_or_to_a_place():
    keys = {section.key for section in SECTIONS}
    for question in standard(BinderCounts()):
        assert question.section in keys or question.kept, question.ask


def test_the_same_content_gives_the_same_bytes_and_another_gives_others():
    assert build(full()) == build(full()) == build(b.BinderContent.from_plain(json.loads(full().to_json())))
    assert build(full()) != build(full(stop=9))


@pytest.mark.parametrize("on", (True, False))
def test_garbage_is_looked_for_again_once_a_binder_is_drawn_or_failed(on):
    was_on, seen = gc.isenabled(), []
    (gc.enable if on else gc.disable)()
    try:
        build(full(), progress=lambda *told: seen.append(gc.isenabled()))
        assert set(seen) == {False} and gc.isenabled() == on
        with pytest.raises(KeyError):
            build(full(paper="A3"))
        assert gc.isenabled() == on
    finally:
        (gc.enable if was_on else gc.disable)()


def test_the_file_given_gets_the_same_bytes():
    file = io.BytesIO()
    assert build(empty(), file) == file.getvalue()


@pytest.mark.parametrize("content", [full(), empty(), full(short=True)])
def test_content_comes_back_from_its_json_whole(content):
    assert b.BinderContent.from_plain(json.loads(content.to_json())) == content


def test_every_font_is_embedded(reader):
    fonts = [font.get_object() for page in reader.pages for font in page["/Resources"]["/Font"].values()]
    assert fonts
    assert all("/FontFile2" in font["/FontDescriptor"] for font in fonts)


def test_every_shape_of_the_matrix_is_drawn_as_often_as_it_is_held(reader):
    page = next(page for page in reader.pages if "Good in it, of all 6" in page.extract_text())
    stamped = Counter(str(operands[0]) for operands, operator in page.get_contents().operations if operator == b"Do")
    states = Counter(state for row in full().matrix for state in row.states if state)
    names = {name[1:]: form.get_object() for name, form in page["/Resources"]["/XObject"].items()}
    assert set(stamped.values()) == {count + 1 for count in states.values()}
    assert sum(stamped.values()) == sum(states.values()) + len(states)
    assert {name[1:] for name in stamped} <= set(names)
    assert all(names[name[1:]].get_data() for name in stamped)


@pytest.mark.parametrize("content", [full(), full(30, 22, short=True), empty()])
def test_progress_never_goes_back_and_ends_whole(content):
    calls: list[tuple[int, int, str]] = []
    build(content, progress=lambda *call: calls.append(call))
    assert [done for done, _, _ in calls] == list(range(len(calls)))
    assert {total for _, total, _ in calls} == {len(calls) - 1}
    assert calls[-1][2] == "done"


def test_progress_is_told_at_least_once_for_each_person():
    told: list[str] = []
    build(full(), progress=lambda done, total, says: told.append(says))
    assert all(told.count(name) == 2 for name, _ in WHO)


@pytest.mark.parametrize(("paper", "size"), [("A4", (595, 842)), ("Letter", (612, 792))])
def test_paper_is_the_one_asked_for(paper, size):
    pages = read(full(paper=paper)).pages
    assert {tuple(sorted(round(float(side)) for side in page.mediabox[2:])) for page in pages} == {size}


def test_words_that_look_like_markup_are_printed_as_they_were_typed():
    typed = "<b>&amp; 50 % {x}</b>"
    assert typed in " ".join(pages_of(full(scope=[typed])))


def test_a_row_longer_than_a_page_is_continued_and_loses_nothing():
    long = " ".join(f"word{n}" for n in range(3000))
    text = " ".join(pages_of(full(findings=[b.FindingRow("fix", long, "2026-01-02", "")])))
    assert [n for n in range(3000) if f"word{n}" not in text.split()] == []


def test_parts_without_a_page_are_never_in_contents():
    assert "extras" not in {section.key for section in sections(full())}
    other = b.Extra("Drills", "", ["Day", "What"], [["3 May 2026", "power cut"]])
    assert "power cut" in " ".join(pages_of(full(extras=[*full().extras, other])))


def test_index_entries_stand_in_the_order_of_their_letters():
    assert sorted(["Zoë", "Ångström", "Bo", "łukasz", "Maria"], key=place) == [
        "Ångström",
        "Bo",
        "łukasz",
        "Maria",
        "Zoë",
    ]


def test_page_numbers_in_a_row_are_joined():
    assert ranges([1, 3, 4, 5, 9, 10]) == "1, 3–5, 9–10"


def test_a_long_name_of_the_practice_leaves_the_foot_its_days_and_its_number():
    long = full(organisation="The Dental Group of the Harbour, the Quay and the Lane " * 3)
    assert all("1 Jan 2026 to 25 Nov 2026" in page and "binder B0007" in page for page in words_drawn(long))
    assert width_of(foot(long), "R", 6) < 146 * mm  # A4 between its margins, beside the page number


@pytest.mark.parametrize("late", [0, 1, 8, 40])
@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_every_question_of_an_inspector_stands_on_the_first_page(paper: str, late: int) -> None:
    content = full(paper=paper, late=[replace(full().late[0], label=f"unit {n}") for n in range(late)])
    first = " ".join(read(content).pages[0].extract_text().split())
    assert [each.ask for each in content.questions if each.ask not in first] == []
    assert ("unit 0" in first) == (late > 0)


def leads_to(reader: pypdf.PdfReader, page: int) -> list[int]:
    """To which pages (from 1) the links within the file lead from a page, in the order in which they were drawn."""
    numbers = {each.indirect_reference.idnum: n for n, each in enumerate(reader.pages, start=1)}
    notes = [note.get_object() for note in reader.pages[page - 1].get("/Annots", ())]
    return [numbers[note["/Dest"][0].idnum] for note in notes if "/Dest" in note]


def test_each_square_of_the_matrix_leads_to_the_stretch_that_it_shows(reader, pages):
    content = full()
    wide = next(n for n, page in enumerate(pages, start=1) if "Good in it, of all" in page)
    found, stretches = iter(leads_to(reader, wide)), 0
    for row in content.matrix:
        person = next(person for person in content.people if person.name == row.name)
        assert row.name in pages[next(found) - 1]
        for head in (head for head, state in zip(content.procedures, row.states, strict=True) if state):
            page = pages[next(found) - 1]
            shown = [
                s.procedure for s in person.spans if s.procedure.startswith(head.code) and s.holds_on(content.as_of)
            ]
            assert row.name in page and all(name in page for name in shown)
            stretches += len(shown)
    assert stretches and next(found, None) is None


def test_two_people_of_one_name_lead_nowhere_rather_than_to_each_other():
    content = full()
    twice = replace(content, people=[*content.people, content.people[0]])
    assert content.record_of(content.people[0].name) == "person-0"
    assert twice.record_of(content.people[0].name) == "" == twice.record_of("Nobody Known")


def test_a_finding_leads_to_the_line_of_the_record_that_it_rests_on():
    bears = full().people[2].observations[0]
    only = [replace(one, fact="") for one in full().findings[1:]]
    content = full(findings=[replace(full().findings[0], fact=bears.fact), *only])
    pages, found = pages_of(content), read(content)
    page = next(n for n, words in enumerate(pages, start=1) if "What ends it" in words and bears.fact[:8] in words)
    (line,) = set(leads_to(found, page))
    assert line != page and bears.fact[:8] in pages[line - 1] and bears.watched_by in pages[line - 1]


def test_the_first_page_names_the_coordinator_of_infection_prevention_or_says_that_nobody_is_named():
    """CDC summary of 2016, administrative measures (row W-21): at least one trained person coordinates it."""
    for named in ("Ines Okafor, trained 2023", ""):
        assert coordinator_words(named) in pages_of(full(coordinator=coordinator_words(named), short=True))[0]
    assert "Nobody" in coordinator_words("")


def test_no_small_head_stands_alone_at_the_foot_of_a_page():
    """With notes of every length, so that the table below a head needs more room than the page has left."""
    heads = (
        "Observations",
        "Signatures",
        "Standing",
        "What it rests on",
        "On the day of this binder",
        "Knowledge checks",
        "Taught",
    )
    for long in range(0, 900, 60):
        noted = [replace(seen, notes="x " * long) for seen in full().people[0].observations]
        signed = [replace(one, meaning="y " * (long // 2)) for one in full().people[0].sign_offs]
        content = full(people=3)
        people = [replace(person, observations=noted, sign_offs=signed) for person in content.people]
        for page in words_drawn(replace(content, people=people)):
            above = page.split(" Harbour Row Dental, Harbour Row · ")[0].strip()
            assert not above.endswith(heads), above[-60:]


def test_a_text_names_its_sources_by_row_and_the_appendix_says_each_once():
    said = [b.SourceRow("O-28", "Contaminated sharps are not bent or recapped.", "from memory: check the current text")]
    texts = [replace(text, sources=["O-28"]) for text in full().texts]
    pages = " ".join(pages_of(full(texts=texts, sources=said)))
    assert pages.count("Sources, said in full after the texts: O-28") == len(texts)
    assert pages.count("Contaminated sharps are not bent or recapped.") == 1
    assert "(V)" not in pages and "(M)" not in pages
