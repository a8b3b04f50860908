"""The roster as a file: every fault by line and column, all or nothing, and the same file back."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from clinic.actions.people import give_role, job_role, leave
from clinic.actions.roster import enter_roster
from clinic.csv_rows import MOST_BYTES, MOST_ROWS, NotCsv, decoded, guarded, unguarded
from clinic.models import JobRole, Person, RoleHeld
from clinic.record import Refused
from clinic.roster import COLUMNS, read_roster, written_roster
from tests.cast import REGISTER_START, Cast

pytestmark = pytest.mark.django_db
HEADS = "given_name,family_name,staff_number,email,job_role,from_day,to_day,language\r\n"
NELL = "Nell,Achterberg,S20,nell@example.org,Dental assistant,2025-03-03,,\r\n"
URL = "/millbrook-lane/people/roster/import/"


def where(cast: Cast, body: str, heads: str = HEADS) -> list[tuple[int, str]]:
    return [(fault.line, fault.column) for fault in read_roster(heads + body, cast.lane).faults]


def test_a_line_enters_a_person_with_the_first_job_role(cast: Cast) -> None:
    enter_roster(read_roster(HEADS + NELL, cast.lane), cast.lane, by=cast.coordinator.person)
    nell = Person.objects.get(staff_number="S20")
    held = nell.roles_held.get()
    assert (nell.printed_name, nell.email, held.job_role.title, held.from_day) == (
        "Nell Achterberg", "nell@example.org", "Dental assistant", date(2025, 3, 3),
    )  # fmt: skip


def test_two_lines_with_one_number_are_two_roles_of_one_person(cast: Cast) -> None:
    roster = read_roster(HEADS + NELL + NELL.replace("Dental assistant", "new: Driver"), cast.lane)
    assert (roster.faults, roster.people, roster.roles, roster.new_titles) == ([], 1, 2, ["Driver"])
    assert len(enter_roster(roster, cast.lane, by=cast.coordinator.person)) == 1


def test_the_same_file_twice_enters_nobody_twice(cast: Cast) -> None:
    for _ in range(2):
        enter_roster(read_roster(HEADS + NELL, cast.lane), cast.lane, by=cast.coordinator.person)
    assert read_roster(HEADS + NELL, cast.lane).known == 1
    assert RoleHeld.objects.filter(person__staff_number="S20").count() == 1


def test_with_one_fault_nothing_is_entered(cast: Cast) -> None:
    before = Person.objects.count()
    with pytest.raises(Refused):
        enter_roster(
            read_roster(HEADS + NELL + NELL.replace("Nell", ""), cast.lane), cast.lane, by=cast.coordinator.person
        )
    assert Person.objects.count() == before


CELLS: list[tuple[str, str, str]] = [
    ("Nell", "", "given_name"),
    ("Achterberg", "x" * 81, "family_name"),
    ("Nell", "李", "given_name"),
    ("nell@example.org", "nell at home", "email"),
    ("2025-03-03", "03/04/25", "from_day"),
    ("Dental assistant", "Dental asistant", "job_role"),
    ("2025-03-03", "", "from_day"),
    ("2025-03-03,", "2025-03-03,2025-03-02", "to_day"),
    ("Dental assistant", "", "job_role"),
    (",\r\n", f",{'l' * 21}\r\n", "language"),
]


@pytest.mark.parametrize(("right", "wrong", "column"), CELLS)
def test_a_wrong_cell_is_named_by_line_and_column(cast: Cast, right: str, wrong: str, column: str) -> None:
    other = "Odd,Person,S21,,new: Driver,2025-03-03,,\r\n"
    assert where(cast, other + NELL.replace(right, wrong)) == [(3, column)]


def test_every_fault_is_named_at_once(cast: Cast) -> None:
    assert where(cast, ",,S1,x,,,,\r\nNell,A,S2,,new: Driver,soon,,\r\n") == [
        (2, "family_name"), (2, "from_day"), (2, "given_name"), (2, "job_role"), (3, "from_day"),
    ]  # fmt: skip


def test_lines_are_counted_as_an_editor_counts_them(cast: Cast) -> None:
    quoted = 'Nell,"Achter\r\nberg",S20,,new: Driver,2025-03-03,,\r\n'
    assert where(cast, quoted + "\r\n" + NELL.replace("S20", "S21").replace("Nell", "")) == [(5, "given_name")]


def test_a_cell_too_many_is_a_comma_without_quotes(cast: Cast) -> None:
    assert where(cast, NELL.replace("Achterberg", "Achterberg, Dr")) == [(2, "")]


def test_a_quoted_comma_and_doubled_quotes_are_read_as_rfc_4180_says(cast: Cast) -> None:
    # RFC 4180, section 2, rules 6 and 7
    roster = read_roster(HEADS + NELL.replace("Achterberg", '"Achter, ""Dr"" berg"'), cast.lane)
    assert (roster.faults, roster.entries[0].name) == ([], 'Nell Achter, "Dr" berg')


def test_an_open_quote_is_a_fault_of_its_line(cast: Cast) -> None:
    assert where(cast, NELL + '"Nell,A,S2,,Driver,2025-03-03,,\r\n') == [(3, "")]


@pytest.mark.parametrize(
    ("heads", "faults"),
    [
        ("given_name;family_name\r\n", [(1, "")]),
        (HEADS.replace(",email", ""), [(1, "email")]),
        (HEADS.replace("language", "mood"), [(1, "language"), (1, "mood")]),
        (HEADS.replace("language", "email"), [(1, "email"), (1, "language")]),
        ("", [(0, "")]),
    ],
)
def test_wrong_heads_are_named(cast: Cast, heads: str, faults: list[tuple[int, str]]) -> None:
    assert where(cast, "", heads) == faults


def test_heads_alone_are_a_fault(cast: Cast) -> None:
    assert where(cast, "") == [(0, "")]


def test_the_order_and_the_capitals_of_the_heads_do_not_matter(cast: Cast) -> None:
    text = "From_Day,JOB_ROLE,family_name,given_name,staff_number,email,to_day,language\n2025-03-03,new: Driver,B,A,S5,,,\n"
    assert read_roster(text, cast.lane).faults == []


def test_more_lines_than_are_read_at_a_time_are_refused(cast: Cast) -> None:
    assert where(cast, NELL * (MOST_ROWS + 1)) == [(0, "")]


def number_of_somebody_else(cast: Cast) -> str:
    Person.objects.filter(pk=cast.assistant.person.pk).update(staff_number="S20")
    return NELL


def number_given_twice(cast: Cast) -> str:
    return NELL + NELL.replace("Nell", "Nora")


def namesake_without_a_number(cast: Cast) -> str:
    return "Nell,Achterberg,,,new: Driver,2025-03-03,,\r\nNell,Achterberg,,nell@example.org,Driver,2025-03-03,,\r\n"


def held_from_another_day(cast: Cast) -> str:
    role = job_role(cast.organisation, "Dental assistant")
    person = Person.objects.create(
        organisation=cast.organisation,
        home_site=cast.lane,
        given_name="Nell",
        family_name="Achterberg",
        staff_number="S20",
    )
    give_role(person, cast.lane, role, REGISTER_START, by=None)
    return NELL


def somebody_who_left(cast: Cast) -> str:
    Person.objects.filter(pk=cast.assistant.person.pk).update(
        staff_number="S20", given_name="Nell", family_name="Achterberg"
    )
    cast.assistant.person.refresh_from_db()
    leave(cast.assistant.person, date(2025, 2, 1), by=cast.owner.person)
    return NELL


@pytest.mark.parametrize(
    ("body", "column"),
    [
        (number_of_somebody_else, "staff_number"),
        (number_given_twice, "staff_number"),
        (namesake_without_a_number, "staff_number"),
        (held_from_another_day, "from_day"),
        (somebody_who_left, "from_day"),
    ],
)
def test_what_the_register_knows_otherwise_is_a_fault(cast: Cast, body: Callable[[Cast], str], column: str) -> None:
    text = body(cast)
    assert where(cast, text) == [(1 + text.count("\r\n"), column)]


def test_a_file_written_reads_back_as_nothing_new(cast: Cast) -> None:
    roster = read_roster(written_roster(cast.lane), cast.lane)
    assert (roster.faults, roster.roles, roster.known) == ([], 0, RoleHeld.objects.filter(site=cast.lane).count())
    assert [column.name for column in COLUMNS] == HEADS.strip().split(",")


@pytest.mark.parametrize("text", ["=1+1", "+49", "-x", "@home", "'=already"])
def test_text_that_looks_like_a_formula_is_guarded_and_reads_back(text: str) -> None:
    # F-28: OWASP CSV injection, ASVS 5.0 V1.2.10: `=1+1` is written as `'=1+1`
    assert not guarded(text).startswith(("=", "+", "-", "@"))
    assert unguarded(guarded(text)) == (text if text[0] != "'" else "=already")


def test_a_name_that_is_a_formula_is_written_guarded(cast: Cast) -> None:
    Person.objects.filter(pk=cast.assistant.person.pk).update(given_name="=HYPERLINK(1)")
    assert "\r\n'=HYPERLINK(1)," in written_roster(cast.lane)


@pytest.mark.parametrize(
    "data", [b"PK\x03\x04abc", b"%PDF-1.7", b"a\0b", "Zoë".encode("latin-1"), b"x" * (MOST_BYTES + 1)]
)
def test_another_kind_of_file_is_refused_with_a_sentence(data: bytes) -> None:
    with pytest.raises(NotCsv, match=r"[A-Z].*\. .+\."):
        decoded(data)


def test_a_byte_order_mark_is_taken_off() -> None:
    assert decoded(b"\xef\xbb\xbfgiven") == decoded(b"given") == "given"


def upload(data: bytes) -> dict[str, Any]:
    return {"file": SimpleUploadedFile("roster.csv", data)}


def test_a_file_handed_in_is_only_shown_first(signed_in: Any, cast: Cast) -> None:
    answer = signed_in(cast.coordinator).post(URL, upload((HEADS + NELL).encode()))
    html = answer.content.decode()
    assert "1 new person and 1 job role can be entered. Nothing is written yet." in html
    assert not Person.objects.filter(staff_number="S20").exists()


def test_confirming_enters_it_with_who_did(signed_in: Any, cast: Cast) -> None:
    answer = signed_in(cast.coordinator).post(URL, {"text": HEADS + NELL, "enter": "yes"})
    assert (answer.status_code, answer.url) == (302, "/millbrook-lane/people/roster/")
    assert Person.objects.get(staff_number="S20").home_site == cast.lane


def test_a_faulty_file_stands_on_the_page_to_be_put_right(signed_in: Any, cast: Cast) -> None:
    answer = signed_in(cast.coordinator).post(
        URL, upload((HEADS + NELL.replace("Nell", "")).encode()) | {"enter": "yes"}
    )
    html = answer.content.decode()
    assert "1 fault:</span> nothing is entered" in html
    assert ",Achterberg,S20,nell@example.org" in html
    assert not JobRole.objects.filter(title="nobody").exists()


def test_a_wrong_file_is_refused_and_what_was_typed_stays(signed_in: Any, cast: Cast) -> None:
    answer = signed_in(cast.coordinator).post(URL, upload(b"PK\x03\x04") | {"text": "given_name"})
    html = answer.content.decode()
    assert "The workbook is broken and cannot be opened." in html
    assert ">\ngiven_name</textarea>" in html or ">given_name</textarea>" in html


def test_nothing_handed_in_says_what_to_do(signed_in: Any, cast: Cast) -> None:
    assert "Choose a file, or write its lines." in signed_in(cast.coordinator).post(URL, {"text": ""}).content.decode()


def test_the_file_is_saved_under_the_name_of_site_and_day(signed_in: Any, cast: Cast) -> None:
    answer = signed_in(cast.coordinator).get("/millbrook-lane/people/roster/export/")
    assert answer.headers["Content-Type"] == "text/csv; charset=utf-8"
    assert answer.content.decode() == written_roster(cast.lane)


def test_a_job_role_that_nobody_made_is_refused_with_the_nearest_and_the_way_to_make_one(cast: Cast) -> None:
    (fault,) = read_roster(HEADS + NELL.replace("Dental assistant", "dental asistant"), cast.lane).faults
    assert (fault.line, fault.column) == (2, "job_role")
    assert fault.says == "There is no job role “dental asistant” here; the nearest is “Dental assistant”."
    assert "“new: dental asistant” in one of its lines" in fault.supply


def test_a_job_role_marked_as_new_in_one_line_is_made_for_all_of_them_once(cast: Cast) -> None:
    text = (
        HEADS
        + NELL.replace("Dental assistant", "Driver")
        + NELL.replace("S20", "S22").replace("Dental assistant", "New: driver").replace("Achterberg", "Bos")
    )
    for _ in range(2):  # sent twice, the mark is no fault
        roster = read_roster(text, cast.lane)
        assert roster.faults == []
        enter_roster(roster, cast.lane, by=cast.coordinator.person)
    assert list(JobRole.objects.filter(title__iexact="driver").values_list("title", flat=True)) == ["Driver"]


def test_days_in_figures_are_read_in_the_order_of_the_site(cast: Cast) -> None:
    text = HEADS + NELL.replace("2025-03-03", "03/04/2025")
    assert read_roster(text, cast.lane).entries[0].from_day == date(2025, 4, 3)
    cast.lane.language = "en-US"
    assert read_roster(text, cast.lane).entries[0].from_day == date(2025, 3, 4)


def test_a_file_that_writes_days_in_both_orders_is_asked_which(cast: Cast) -> None:
    turned = NELL.replace("S20", "S21").replace("Achterberg", "Bos").replace("2025-03-03", "11/20/2025")
    (fault,) = read_roster(HEADS + NELL.replace("2025-03-03", "03/04/2025") + turned, cast.lane).faults
    assert (fault.line, fault.column) == (2, "from_day")
    assert "may be 3 Apr 2025 or 4 Mar 2025: line 3 has its days in the other order." in fault.says
