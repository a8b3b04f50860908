"""The days of a standing and of its record: the last good day whatever ended it, and the day a thing was written."""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone

from clinic.models import Change, Equipment, KeptElsewhere, RoleHeld, UpkeepEntry, UpkeepTask
from clinic.record import record
from clinic.rules.days import written_later
from clinic.rules.opening import Opening, before_sentence, opened_life
from clinic.rules.upkeep_facts import TaskRule
from clinic.seals import Break
from clinic.templatetags.register import written_on
from tests.cast import REGISTER_START, Cast
from tests.training.people_scene import TODAY, Scene, carried, watched
from training.models import Requirement, Withdrawal
from training.reads.audit import audit_page
from training.reads.binder.asked import BinderAsked
from training.reads.binder.gather import gather_binder
from training.reads.kept import papers_kept
from training.reads.matrix import squares
from training.reads.person import procedure_page, roles_on

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def withdrawn(scene: Scene, code: str, day: date) -> Withdrawal:
    signer = scene.cast.supervisor.person
    row = Withdrawal(
        site=scene.cast.lane, happened_on=day, person=scene.cast.assistant.person, procedure=scene.procedures[code],
        reason="Two tools were left in.", signer_name=str(signer),
    )  # fmt: skip
    return record(row, by=signer)


def mine(scene: Scene, last: date = TODAY) -> Any:
    binder = gather_binder(BinderAsked(scene.cast.lane, REGISTER_START, last, TODAY))
    return next(record for record in binder.people if record.name == "Wren Adeyemi")


def test_withdrawn_on_a_day_is_good_through_the_day_before(scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", TODAY + 90 * DAY)
    withdrawn(scene, "P01", TODAY)
    paper, gone = mine(scene).sign_offs
    assert (paper.through, gone.through) == ((TODAY - DAY).isoformat(), (TODAY - DAY).isoformat())
    assert paper.ended == "Signed through 1 June 2025. Good through 2 March 2025; then withdrawn."


def test_what_nothing_ended_earlier_is_good_through_the_day_it_was_signed_through(scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", TODAY + 90 * DAY)
    [paper] = mine(scene).sign_offs
    assert (paper.through, paper.ended) == ((TODAY + 90 * DAY).isoformat(), "")


def test_a_sign_off_taken_away_on_its_first_day_was_never_good(scene: Scene) -> None:
    carried(scene, scene.cast.assistant.person, "P01", TODAY + 90 * DAY)
    withdrawn(scene, "P01", REGISTER_START)
    paper = next(row for row in mine(scene).sign_offs if row.kind == "carried over")
    assert (paper.through, paper.ended) == ("", "Never good: it was ended or on hold from its first day.")


def test_a_stretch_that_a_prerequisite_ends_says_so_and_where_the_period_ends_first_names_the_day(scene: Scene) -> None:
    who = scene.cast.assistant.person
    carried(scene, who, "P01", TODAY + 5 * DAY)
    carried(scene, who, "P04", TODAY + 90 * DAY)
    [row] = [span for span in mine(scene).spans if span.procedure.startswith("P04")]
    assert row.cause == ("Carried over from paper. Good through 8 March 2025; then on hold, because P01 ends.")
    paper = next(row for row in mine(scene).sign_offs if row.procedure == "P04")
    assert (paper.through, paper.ended[:27]) == ("2025-03-08", "Signed through 1 June 2025.")


def test_the_page_says_beside_the_stretch_what_ends_it(scene: Scene) -> None:
    who = scene.cast.assistant.person
    carried(scene, who, "P01", TODAY + 5 * DAY)
    carried(scene, who, "P04", TODAY + 90 * DAY)
    said = [row.says for row in procedure_page(who, scene.procedures["P04"], TODAY).stretches]
    assert said[-1].endswith("Good through 8 March 2025; then on hold, because Hand care (P01) ends.")


def test_what_was_written_later_says_so_on_page_and_paper(scene: Scene, signed_in: Any) -> None:
    who = scene.cast.assistant.person
    row = watched(scene, who, "P01", TODAY - 4 * DAY)
    later = row.recorded_at.astimezone(ZoneInfo("Europe/London")).date()
    assert [one.written for one in mine(scene).observations] == [later.isoformat()]
    shown = signed_in(scene.cast.supervisor).get(f"/millbrook-lane/people/{who.pk}/P01/").content.decode()
    assert f"written on {later:%-d %B %Y}" in shown


def test_the_day_it_was_written_is_said_only_where_it_is_later() -> None:
    assert (written_later(TODAY, TODAY + DAY), written_later(TODAY, TODAY)) == (TODAY + DAY, None)


def test_the_day_it_was_written_is_the_sites(cast: Cast) -> None:
    """Half past eleven at night in London's winter is the next day in Auckland."""
    fact = Change(happened_on=TODAY, recorded_at=datetime(2025, 3, 3, 23, 30, tzinfo=UTC))
    assert written_on(fact) == ""
    with timezone.override("Pacific/Auckland"):
        assert written_on(fact) == "4 March 2025"


def test_the_seals_are_checked_when_the_binder_is_made_and_it_says_so(scene: Scene) -> None:
    watched(scene, scene.cast.assistant.person, "P01", TODAY)
    says = gather_binder(BinderAsked(scene.cast.lane, REGISTER_START, TODAY, TODAY)).seals
    assert says[1] == (
        "While it was made, 2025-03-03 at 12:00, every seal was worked out again from the rows as they stand: each one holds, "
        "those that this binder rests on among them."
    )


def test_a_binder_that_rests_on_a_changed_fact_says_how_many_and_where(scene: Scene, monkeypatch: Any) -> None:
    row = watched(scene, scene.cast.assistant.person, "P01", TODAY)
    broken = Break(7, "training.observation", str(row.pk), "the fact is not what was sealed")
    monkeypatch.setattr("training.reads.binder.seals.check_site", lambda site: [broken])
    made = gather_binder(BinderAsked(scene.cast.lane, REGISTER_START, TODAY, TODAY))
    assert made.seals[1].endswith(
        ": 1 break, and 1 fact of this binder does not hold. The first: place 7, the fact is not what was sealed."
    )
    assert "some seals do not hold" in next(q.answer for q in made.questions if q.section == "integrity")


def test_a_review_logged_later_is_the_last_review_of_its_paper(scene: Scene) -> None:
    site, owner = scene.cast.lane, scene.cast.owner.person
    house = Equipment.objects.create(site=site, kind="site", label="the practice", in_service_from=REGISTER_START)
    task = UpkeepTask.objects.create(
        code="U17", title="Exposure control plan review", equipment_kind="site", every_days=365
    )
    paper = KeptElsewhere(
        site=site, happened_on=REGISTER_START, what="Exposure control plan", place="red folder", keeper="Hester Vane",
        last_review=date(2024, 2, 1),
    )  # fmt: skip
    record(paper, by=owner)
    assert [one.row.what for one in audit_page(site, TODAY).late_reviews] == ["Exposure control plan"]
    record(UpkeepEntry(site=site, happened_on=TODAY, equipment=house, task=task, done_by=owner), by=owner)
    [kept] = papers_kept(site, TODAY)
    assert (kept.reviewed, audit_page(site, TODAY).late_reviews) == (TODAY, [])
    assert papers_kept(site, TODAY - DAY)[0].reviewed == date(2024, 2, 1)


def test_a_cell_known_by_a_day_opens_the_page_as_known_by_that_day(scene: Scene, signed_in: Any) -> None:
    client, who = signed_in(scene.cast.supervisor), scene.cast.assistant.person
    carried(scene, who, "P01", TODAY + 90 * DAY)
    shown = client.get("/millbrook-lane/people/matrix/?day=3+Mar+2025&known=2+Mar+2025").content.decode()
    address = f"/millbrook-lane/people/matrix/{who.pk}/P01/2025-03-03/?known=2025-03-02"
    assert "as known by the end of 2 Mar 2025" in shown
    page = client.get(address, follow=True).content.decode()
    assert "as known by the end of 2 March 2025" in page


def known_at(instant: datetime, row: Any, by: Any, days: dict[str, str], before: dict[str, str]) -> None:
    """A change of a reference row recorded at the instant, beside the chain: only its words are read here."""
    Change.objects.create(
        site=by.home_site, happened_on=instant.date(), recorded_at=instant, recorded_by=by, about=row._meta.label_lower,
        about_id=str(row.pk), said="changed", before=before, after=days,
    )  # fmt: skip


def test_roles_and_needs_are_those_known_then(scene: Scene) -> None:
    who, by = scene.cast.assistant.person, scene.cast.owner.person
    role = RoleHeld.objects.get(person=who)
    needed = Requirement.objects.get(procedure=scene.procedures["P03"])
    role.to_day = needed.to_day = TODAY - 10 * DAY
    role.save()
    needed.save()
    later = Change.objects.order_by("-recorded_at").first().recorded_at + DAY
    for row in (role, needed):
        known_at(later, row, by, {"to_day": str(row.to_day)}, {"to_day": ""})
    now, then = squares(scene.cast.lane, TODAY), squares(scene.cast.lane, TODAY, later - timedelta(seconds=1))
    assert who not in now.people and who in then.people
    assert then.asked[who.pk] == {row.pk for row in scene.procedures.values()}
    assert [row.job_role.title for row in roles_on(who, scene.cast.lane, TODAY, later - timedelta(seconds=1))] == [
        "Dental assistant"
    ]
    assert roles_on(who, scene.cast.lane, TODAY) == []


def test_a_role_entered_later_was_not_known(scene: Scene) -> None:
    who = scene.cast.assistant.person
    entered = Change.objects.get(about="clinic.roleheld", about_id=str(RoleHeld.objects.get(person=who).pk))
    assert roles_on(who, scene.cast.lane, TODAY, entered.recorded_at)
    assert roles_on(who, scene.cast.lane, TODAY, entered.recorded_at - timedelta(seconds=1)) == []


@pytest.mark.parametrize(
    ("typed", "units", "says"),
    [
        (date(2025, 1, 3), 0, "Before the register: 3 January 2025"),
        (date(2024, 3, 1), 0, "Before the register: 1 March 2024, counted from 30 December 2024"),
        (date(2025, 1, 3), 20, "Before the register: 3 January 2025, counted from 6 January 2025"),
    ],
)
def test_a_last_done_day_before_the_register_is_shown_as_typed(typed: date, units: int, says: str) -> None:
    """Every 7 days or 20 parts; the register starts on 6 January 2025."""
    opening, rule = Opening(typed, units), TaskRule("U01", 7, 20, 1)
    assert before_sentence(opening, opened_life(REGISTER_START, None, opening, rule)) == says


def test_what_was_never_done_before_says_nothing() -> None:
    assert before_sentence(None, opened_life(REGISTER_START, None, None, TaskRule("U01", 7, None, 1))) == ""
