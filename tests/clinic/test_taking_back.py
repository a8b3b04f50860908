"""Whatever the clinic records can be put right by whoever may, and takes with it what means nothing without it."""

from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import uuid4

import pytest
from django.urls import reverse

from clinic import clock
from clinic.actions.readings import DoneTask, log_work
from clinic.actions.sterilisers import note_event
from clinic.actions.taking_back import take_back
from clinic.actions.upkeep import close_site, is_out_of_service, log_entry, return_unit, stop_unit
from clinic.models import Closure, Equipment, OutOfService, SteriliserEvent, UpkeepTask, Voiding
from clinic.reads.spores import sterilisers
from clinic.reads.stops import stops_of
from clinic.reads.upkeep import unit_tasks
from clinic.record import Refused
from tests import stand_in
from tests.cast import PASSWORD, REGISTER_START, Cast

pytestmark = pytest.mark.django_db
TODAY = date.today()
DAY = timedelta(days=1)


@pytest.fixture(autouse=True)
def holders(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only the supervisor may do anything alone."""
    held = {cast.supervisor.person.pk}
    stand_in.usable(monkeypatch, held)


def by_hand(cast: Cast, client: Any, fact: Any, who: str = "coordinator") -> Any:
    form = {"submission": str(uuid4()), "reason": "Entered at the wrong unit.", "password": PASSWORD}
    form["sign_in_name"] = getattr(cast, who).account.sign_in_name
    return client.post(reverse("training:take_back", args=[cast.lane.code, fact.pk]), form)


def test_closed_days_are_taken_back_on_their_page_and_the_clocks_run_again(cast: Cast, signed_in: Any) -> None:
    before = [one.spans for one in unit_tasks(cast.lane, [cast.unit])]
    shut = close_site(cast.lane, TODAY - 9 * DAY, TODAY, by=cast.owner.person, reason="Builders")
    assert [one.spans for one in unit_tasks(cast.lane, [cast.unit])] != before
    client = signed_in(cast.coordinator)
    assert (
        f"take-back/{shut.pk}" in client.get(reverse("training:fact", args=[cast.lane.code, shut.pk])).content.decode()
    )
    assert by_hand(cast, client, shut).status_code == 302
    assert [one.spans for one in unit_tasks(cast.lane, [cast.unit])] == before


def test_whoever_may_not_take_it_back_reads_who_may(cast: Cast, signed_in: Any) -> None:
    done = log_entry(cast.task, cast.unit, cast.assistant.person, site=cast.lane, by=cast.owner.person, day=TODAY)
    page = signed_in(cast.assistant).get(reverse("training:fact", args=[cast.lane.code, done.pk])).content.decode()
    assert f"If it is wrong, {cast.coordinator.person} or {cast.owner.person} may take it back." in page
    assert by_hand(cast, signed_in(cast.assistant), done, "assistant").status_code == 403


def test_a_mistaken_fail_takes_its_stop_back_with_it_and_the_stop_alone_stays(cast: Cast) -> None:
    choice = {
        "key": "test",
        "label": "The test",
        "kind": "choice",
        "choices": ["growth", "no growth"],
        "good": ["no growth"],
    }
    task = UpkeepTask.objects.create(
        code="U10",
        stands_for="spore test",
        title="Spore test",
        equipment_kind="steriliser",
        every_days=7,
        readings=[choice],
    )
    one = Equipment.objects.create(
        site=cast.lane, kind="steriliser", label="steriliser", in_service_from=REGISTER_START
    )
    who = cast.supervisor.person
    failed = log_work(DoneTask(task, one, cast.lane, who, TODAY, readings={"test": "growth"}), by=who).entry
    stop = OutOfService.objects.get()
    with pytest.raises(Refused, match="stopped by a check that failed"):
        take_back(stop, by=who, reason="x")
    once = uuid4()
    for _ in range(2):  # sent twice
        take_back(failed, by=who, reason="Another steriliser.", id=once)
    assert not is_out_of_service(one)
    assert sterilisers(cast.lane, TODAY)[0].is_usable
    assert Voiding.objects.count() == 2


def test_a_steriliser_event_is_taken_back(cast: Cast, signed_in: Any) -> None:
    one = Equipment.objects.create(
        site=cast.lane, kind="steriliser", label="steriliser", in_service_from=REGISTER_START
    )
    noted = note_event(one, "repaired", site=cast.lane, by=cast.owner.person)
    assert by_hand(cast, signed_in(cast.coordinator), noted).status_code == 302
    assert not SteriliserEvent.objects.live().exists()


def test_only_who_may_return_a_unit_takes_back_the_stop_that_holds_it(cast: Cast) -> None:
    stop = stop_unit(cast.unit, "Smell", site=cast.lane, by=cast.assistant.person)
    with pytest.raises(Refused, match="would return unit"):
        take_back(stop, by=cast.assistant.person, reason="Wrong unit.")
    take_back(stop, by=cast.supervisor.person, reason="Wrong unit.")
    assert not is_out_of_service(cast.unit)


@pytest.mark.parametrize(
    ("stopped", "returned", "stopped_again"),
    [((0, 40), (1, 10), None), ((0, 10), (0, 50), (1, 20)), ((1, 10), (1, 40), None)],
)
def test_a_stop_in_the_hour_that_runs_twice_heals_and_holds_as_it_happened(
    cast: Cast, stopped: Any, returned: Any, stopped_again: Any
) -> None:
    """Clocks in London go from 02:00 back to 01:00 on 25 October 2026, at 01:00 UTC: 01:40 comes before 01:10."""
    night = datetime(2026, 10, 25, tzinfo=UTC)
    who = cast.supervisor.person
    acts = [("stop", stopped), ("return", returned), ("stop", stopped_again)]
    for act, at in [(act, at) for act, at in acts if at]:
        with clock.standing_at(night + timedelta(hours=at[0], minutes=at[1])):
            if act == "stop":
                stop_unit(cast.unit, "Smell", site=cast.lane, by=who)
            else:
                return_unit(cast.unit, "Clean.", site=cast.lane, by=who)
    holds = [pause.after is None for pause in stops_of(cast.lane)[cast.unit.pk]]
    assert holds == ([False, True] if stopped_again else [False])
    assert is_out_of_service(cast.unit) is bool(stopped_again)


def closed(cast: Cast, client: Any, **changes: str) -> str:
    day = f"{TODAY - 30 * DAY:%-d %b %Y}"
    form = {"submission": str(uuid4()), "first": day, "last": f"{TODAY - DAY:%-d %b %Y}", "reason": ""} | changes
    return client.post(f"/{cast.lane.code}/upkeep/closed-days/", form, follow=True).content.decode()


def test_a_closure_that_reaches_back_asks_why_and_shows_what_it_silences_first(cast: Cast, signed_in: Any) -> None:
    client = signed_in(cast.coordinator)
    assert "reaches back over days that were judged already. Say why." in closed(cast, client)
    page = closed(cast, client, reason="Builders")
    assert "overdue days would be gone" in page
    assert "Nothing is saved yet." in page
    assert not Closure.objects.exists()
    closed(cast, client, reason="Builders", seen="on")
    assert Closure.objects.get().reason == "Builders"


def test_a_closure_of_years_asks_why_too(cast: Cast, signed_in: Any) -> None:
    client, days = (
        signed_in(cast.coordinator),
        {"first": f"{TODAY:%-d %b %Y}", "last": f"{TODAY + 800 * DAY:%-d %b %Y}"},
    )
    assert "Say why." in closed(cast, client, **days)
    with pytest.raises(Refused, match="long, or reaches back"):
        close_site(cast.lane, TODAY, TODAY + 800 * DAY, by=cast.owner.person)
    closed(cast, client, first=f"{TODAY + DAY:%-d %b %Y}", last=f"{TODAY + 2 * DAY:%-d %b %Y}")
    assert Closure.objects.count() == 1
