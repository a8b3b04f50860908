"""A clock that jumps: refused at the start, recorded when it is met, dragging nothing with it, and put right openly."""

from datetime import UTC, datetime, timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from clinic import clock
from clinic.actions.clock import put_right, say_replayed
from clinic.clock import ClockWatch
from clinic.models import Change, KeptElsewhere, Site
from clinic.reads.clock import jumps
from clinic.record import Refused, record, void
from clinic.rules.jumps import ABSURD, TOLERANCE, refusal, stepped_back
from clinic.seals import check_site
from clinic.start import refuse_wrong_clock
from tests.cast import Cast
from tests.house.sources import ROOT

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 28, 10, 0, tzinfo=UTC)
FAR = datetime(2036, 11, 28, 10, 0, tzinfo=UTC)


@pytest.fixture
def practice(cast: Cast) -> Any:
    """The practice, with something recorded at each site today."""
    with clock.standing_at(NOW):
        kept(cast)
        kept(cast, cast.court)
        yield cast


def kept(cast: Cast, at: Site | None = None) -> KeptElsewhere:
    row = KeptElsewhere(site=at or cast.lane, happened_on=clock.today("UTC"), what="Plan", place="shelf", keeper="Bram")
    return record(row, by=cast.owner.person)


def poisoned(cast: Cast) -> KeptElsewhere:
    with clock.standing_at(FAR):
        return kept(cast)


def test_one_fact_stamped_2036_does_not_drag_the_later_ones(practice: Cast) -> None:
    assert poisoned(practice).recorded_at == FAR
    rows = [kept(practice) for _ in range(3)]
    assert {row.recorded_at.year for row in rows} == {NOW.year}
    assert sorted(rows, key=lambda row: row.recorded_at) == rows
    assert rows[0].recorded_at - clock.now() < timedelta(seconds=1)


def test_the_step_back_is_recorded_in_words_as_soon_as_it_is_met(practice: Cast) -> None:
    poisoned(practice)
    kept(practice)
    (jump,) = jumps(practice.lane)
    assert jump.said.startswith("The clock stepped back by 3,")
    assert check_site(practice.lane) == []


def test_facts_written_after_a_step_back_follow_those_written_before_the_jump(practice: Cast) -> None:
    first = kept(practice)
    poisoned(practice)
    assert kept(practice).recorded_at > first.recorded_at


def test_a_step_of_seconds_is_said_to_nobody_and_keeps_the_order(practice: Cast) -> None:
    first = kept(practice)
    with clock.standing_at(clock.now() - TOLERANCE + timedelta(seconds=1)):
        assert kept(practice).recorded_at > first.recorded_at
    assert jumps(practice.lane) == []


def test_what_is_poisoned_is_put_right_by_later_facts(practice: Cast) -> None:
    wrong = poisoned(practice)
    void(wrong, by=practice.owner.person, reason="The clock said 2036.")
    put_right(practice.lane, "The battery was flat.", by=practice.owner.person)
    assert jumps(practice.lane) == []
    assert wrong not in KeptElsewhere.objects.live()
    answer = Change.objects.get(about="clinic.clock", about_id="put right")
    assert [each["recorded_at"][:4] for each in answer.before["beyond"]] == ["2036"]


def test_a_jump_under_which_nothing_was_recorded_yet_is_answered_too(practice: Cast) -> None:
    poisoned(practice)
    assert len(put_right(practice.lane, "The battery was flat.", by=None)) == 1
    refuse_wrong_clock()


def test_nothing_is_put_right_without_saying_what_happened(practice: Cast) -> None:
    with pytest.raises(Refused, match="not said"):
        put_right(practice.lane, "  ", by=None)


@pytest.mark.parametrize("command", [["serve", "--port", "0"], ["worker", "--once"]])
def test_the_start_is_refused_in_words_with_the_remedy(practice: Cast, command: list[str]) -> None:
    poisoned(practice)
    with pytest.raises(CommandError, match=r"days before the newest record .*2036.* manage.py clock right"):
        call_command(*command)


def test_the_start_is_refused_absurdly_later(practice: Cast) -> None:
    with (
        clock.standing_at(clock.now() + ABSURD + timedelta(days=2)),
        pytest.raises(CommandError, match="after the newest"),
    ):
        refuse_wrong_clock()


def test_the_command_shows_an_open_jump_and_ends_it(practice: Cast) -> None:
    poisoned(practice)
    kept(practice)
    out = StringIO()
    with pytest.raises(CommandError, match="1 jump is not answered"):
        call_command("clock", stdout=out)
    assert "millbrook-lane: The clock stepped back" in out.getvalue()
    call_command("clock", "right", "--said", "The battery was flat.", stdout=out)
    call_command("clock", stdout=out)


def test_a_register_without_records_starts_at_any_time() -> None:
    assert refusal(None, FAR) == ""


@pytest.mark.parametrize(
    ("gap", "refused"),
    [
        (-TOLERANCE - timedelta(seconds=1), True),
        (-TOLERANCE, False),
        (timedelta(0), False),
        (ABSURD, False),
        (ABSURD + timedelta(seconds=1), True),
    ],
)
def test_the_bounds_of_what_is_refused_at_the_start(gap: timedelta, refused: bool) -> None:
    assert (refusal(NOW, NOW + gap) != "", stepped_back(NOW, NOW + gap)) == (refused, refused and gap < timedelta(0))


def test_a_clock_that_runs_ahead_of_a_timer_is_met_while_running(
    practice: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("clinic.clock.ran_ahead", lambda: timedelta(days=3650))
    kept(practice)
    assert jumps(practice.lane)[0].said.startswith("The clock ran ahead by 3,650 days while the register was running")


def test_the_watch_compares_the_clock_with_a_timer_that_nobody_sets(monkeypatch: pytest.MonkeyPatch) -> None:
    watch = ClockWatch()
    assert watch.ran_ahead() == timedelta(0)
    watch.start()
    assert abs(watch.ran_ahead()) < timedelta(seconds=1)
    assert watch.started is not None
    watch.started = (watch.started[0] - timedelta(days=30), watch.started[1])
    assert watch.ran_ahead() > timedelta(days=29)
    assert abs(watch.ran_ahead()) < timedelta(seconds=1)


def test_a_history_that_is_played_sets_its_clock_without_a_jump_and_says_so(practice: Cast) -> None:
    with clock.replaying(), clock.standing_at(NOW - timedelta(days=9)):
        say_replayed(practice.lane, "A drill of the restore was played.", by=practice.owner.person)
        kept(practice)
    kept(practice)
    assert jumps(practice.lane) == []
    assert Change.objects.get(about_id="replayed").said == "A drill of the restore was played."


def test_outside_a_history_that_is_played_a_step_back_is_a_jump_still(practice: Cast) -> None:
    with clock.replaying():
        poisoned(practice)
    kept(practice)
    assert len(jumps(practice.lane)) == 1


def test_nothing_that_people_use_plays_a_history() -> None:
    """Only the demo sets the clock; else a step back could be hidden."""
    files = [path for room in ("clinic", "training") for path in (ROOT / room).rglob("*.py")]
    calling = {path.relative_to(ROOT).as_posix() for path in files if "replaying()" in path.read_text()}
    assert calling == {"clinic/clock.py", "training/demo/play.py"}
