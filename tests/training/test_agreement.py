"""Two supervisors mark the same performance; the page says how far they agree, and never of few people."""

from typing import Any
from uuid import uuid4

import pytest
from django.urls import reverse

from clinic.models import Person
from clinic.record import Refused, void
from tests.training.bench import ALL_RIGHT, Bench, at
from training.actions.second_marking import mark_too
from training.models import IndependentMarking, StandingSpan
from training.reads import agreement as reads
from training.reads.agreement import agreement_page, to_mark_too
from training.rules.agreement import agreement

STRICTER = ALL_RIGHT | {"s3": "prompted"}
DAY = 4


def marked(bench: Bench, marks: dict[str, str] = STRICTER, day: int = DAY, **who: Any) -> IndependentMarking:
    seen = bench.seen(day)
    with at(day, 13):
        return mark_too(seen, marks, by=who.get("by", bench.cast.second.person), id=uuid4())


def refused(bench: Bench, person: Person, marks: dict[str, str] = ALL_RIGHT, later: int = 0) -> str:
    seen = bench.seen(DAY)
    with at(DAY + later, 13), pytest.raises(Refused) as told:
        mark_too(seen, marks, by=person, id=uuid4())
    return str(told.value)


def page(bench: Bench, monkeypatch: pytest.MonkeyPatch, people: int = 2, performances: int = 1) -> Any:
    """The page with thresholds that the practice of seven reaches."""
    monkeypatch.setattr(reads, "PEOPLE_ENOUGH", people)
    monkeypatch.setattr(reads, "may_judge", lambda _, n: n >= performances)
    with at(DAY + 2):
        return agreement_page(bench.cast.lane, reads.date(2025, 2, DAY + 2))


def test_a_second_marking_keeps_the_marks_in_the_order_of_the_first(bench: Bench) -> None:
    row = marked(bench)
    assert [each["mark"] for each in row.marks] == ["alone", "asked", "prompted"]


def test_a_second_marking_changes_nobodys_standing(bench: Bench) -> None:
    seen, spans = bench.seen(DAY), StandingSpan.objects.order_by("pk")
    before = list(spans.values())
    with at(DAY, 13):
        mark_too(seen, STRICTER | {"s1": "helped"}, by=bench.cast.second.person, id=uuid4())
    assert before and list(spans.values()) == before


def test_nobody_marks_their_own_work(bench: Bench) -> None:
    assert "Nobody marks their own work." in refused(bench, bench.cast.assistant.person)


def test_the_first_supervisor_is_no_second_one(bench: Bench) -> None:
    assert "The first marks of this performance are yours." in refused(bench, bench.cast.supervisor.person)


def test_only_with_authority_for_the_procedure(bench: Bench) -> None:
    assert "had no authority for Chamber cleaning (P06) here that day" in refused(bench, bench.cast.owner.person)


def test_two_days_later_it_would_be_memory(bench: Bench) -> None:
    assert "It is more than a day ago" in refused(bench, bench.cast.second.person, later=2)


def test_every_step_needs_a_mark_that_fits_it(bench: Bench) -> None:
    said = refused(bench, bench.cast.second.person, {"s1": "asked", "s9": "alone"})
    assert "Two steps are not marked." in said
    assert "a step that the version does not have" in said and "A mark does not fit its step." in said


def test_once_for_each_supervisor(bench: Bench) -> None:
    seen = marked(bench).observation
    with at(DAY, 14), pytest.raises(Refused, match="You marked this performance already"):
        mark_too(seen, ALL_RIGHT, by=bench.cast.second.person, id=uuid4())


def test_the_same_submission_twice_is_one(bench: Bench) -> None:
    first = marked(bench)
    with at(DAY, 14):
        again = mark_too(first.observation, STRICTER, by=bench.cast.second.person, id=first.pk)
    assert again == first and IndependentMarking.objects.count() == 1


def test_what_a_colleague_watched_is_offered_until_the_next_day(bench: Bench) -> None:
    seen, second, lane = bench.seen(DAY), bench.cast.second.person, bench.cast.lane
    offered = [list(to_mark_too(second, lane, reads.date(2025, 2, DAY + later))) for later in (0, 1, 2)]
    assert offered == [[seen], [seen], []]
    assert not to_mark_too(bench.cast.supervisor.person, lane, seen.happened_on).exists()


def test_the_form_shows_no_first_mark_and_keeps_what_was_chosen(bench: Bench, signed_in: Any) -> None:
    seen = bench.seen(DAY)
    address = reverse("training:second_marks", args=[bench.cast.lane.code, seen.pk])
    with at(DAY, 13):
        client = signed_in(bench.cast.second)
        assert "checked" not in client.get(address).content.decode()
        shown = client.post(address, {"submission": str(uuid4()), "P06-s1": "helped"}).content.decode()
    assert "Two steps are not marked." in shown and shown.count("checked") == 1


def test_the_form_records_and_goes_back_to_observe(bench: Bench, signed_in: Any) -> None:
    seen = bench.seen(DAY)
    address = reverse("training:second_marks", args=[bench.cast.lane.code, seen.pk])
    given = {f"P06-{step}": mark for step, mark in STRICTER.items()} | {"submission": str(uuid4())}
    with at(DAY, 13):
        answer = signed_in(bench.cast.second).post(address, given)
    assert answer.url == reverse("training:observe", args=[bench.cast.lane.code])
    assert IndependentMarking.objects.get().marker == bench.cast.second.person


def test_a_performance_of_the_other_site_is_not_there(bench: Bench, signed_in: Any) -> None:
    seen = bench.seen(DAY)
    assert signed_in(bench.cast.owner).get(f"/{bench.cast.court.code}/observe/{seen.pk}/second/").status_code in (
        403,
        404,
    )


def test_agreement_is_off_below_ten_people(bench: Bench) -> None:
    marked(bench)
    found = agreement_page(bench.cast.lane, reads.date(2025, 2, 20))
    assert found.off.endswith("It is off below 10.") and found.pairs == ()


def test_the_page_has_the_kappas_of_the_rule(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    marked(bench)
    marked(bench, ALL_RIGHT, day=DAY + 1)
    (pair,) = page(bench, monkeypatch).pairs
    assert pair.table == [[0, 0, 0, 0], [0, 0, 0, 0], [0, 0, 0, 0], [0, 0, 1, 5]]
    assert (pair.plain, pair.performances) == (agreement(pair.table), 2)


def test_few_performances_stay_quiet(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    marked(bench)
    (pair,) = page(bench, monkeypatch, performances=2).pairs
    assert pair.quiet


def test_each_supervisor_stands_beside_the_others_or_is_too_few(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    marked(bench)
    leaning = page(bench, monkeypatch).leaning
    assert [(one.supervisor, one.higher, one.lower, one.says) for one in leaning] == [
        ("Ines Pellow", 1, 0, "too few"),
        ("Tobias Rask", 0, 1, "too few"),
    ]


def test_a_marking_taken_back_is_not_counted(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    row = marked(bench)
    with at(DAY, 15):
        void(row, by=bench.cast.second.person, reason="The wrong performance.")
    assert page(bench, monkeypatch).pairs == []


def test_only_who_reads_the_site_sees_agreement(bench: Bench, signed_in: Any) -> None:
    address = reverse("training:agreement", args=[bench.cast.lane.code])
    with at(DAY):
        assert signed_in(bench.cast.assistant).get(address).status_code == 403
        assert "Agreement is off" in signed_in(bench.cast.supervisor).get(address).content.decode()


def test_a_script_that_sends_the_marks_hears_what_is_missing_and_where_to_go(bench: Bench, signed_in: Any) -> None:
    seen, data = bench.seen(DAY), {"HTTP_ACCEPT": "application/json"}
    address = reverse("training:second_marks", args=[bench.cast.lane.code, seen.pk])
    given = {"submission": str(uuid4())} | {f"P06-{step}": mark for step, mark in STRICTER.items()}
    with at(DAY, 13):
        client = signed_in(bench.cast.second)
        assert client.get(address).context["kept"]["what"] == f"{seen.version.procedure}, marked too"
        short = client.post(address, given | {"P06-s1": ""}, **data)
        says = ["One step is not marked. Mark each; “not seen” is a mark too."]
        assert (short.status_code, short.json()["refusals"]) == (422, says)
        sent = [client.post(address, given, **data).json() for _ in range(2)]
    assert sent == [{"go": reverse("training:observe", args=[bench.cast.lane.code])}] * 2
    assert IndependentMarking.objects.count() == 1
