"""Events: no names, no medical field, the path that the contaminated question decides, and no link to standing."""

from datetime import UTC, date, datetime
from typing import Any
from uuid import uuid4

import pytest

from clinic import clock
from clinic.actions.upkeep import log_use
from clinic.models import Incident, IncidentReview
from clinic.reads.incidents import sharps_log
from clinic.rules.incident_path import AT_ONCE, path_of
from clinic.rules.no_names import names_within
from tests.cast import Cast
from tests.training.teaching import put_in_force
from training.models import StandingSpan, Withdrawal

pytestmark = pytest.mark.django_db


def event(**changes: Any) -> dict[str, Any]:
    return {
        "submission": str(uuid4()), "kind": "sharps injury", "contaminated": "yes", "item": "fluted cutter, brand unknown",
        "place": "mill room", "how": "The cutter slipped out of the holder.", "equipment": "", "procedure_code": "",
        "day": f"{date.today():%d %b %Y}",
    } | changes  # fmt: skip


def post(cast: Cast, client: Any, page: str, form: dict[str, Any]) -> str:
    return client.post(f"/{cast.lane.code}/upkeep/events/{page}/", form, follow=True).content.decode()


def near_misses(cast: Cast) -> Any:
    return Incident.objects.filter(site=cast.lane, kind="near miss").exclude(pk=cast.event.pk)


def test_a_near_miss_takes_three_taps_and_keeps_no_name(cast: Cast, signed_in: Any) -> None:
    form = {"submission": str(uuid4()), "place": "Tool bench", "what": "Water on the floor", "how": ""}
    for _ in range(2):
        page = post(cast, signed_in(cast.assistant), "near-miss", form)
    row = near_misses(cast).get()
    assert (row.recorded_by, row.place, row.how) == (None, "Tool bench", "Water on the floor")
    assert "filed without a name" in page


def test_a_near_miss_without_a_place_or_a_word_is_refused_and_keeps_what_was_typed(cast: Cast, signed_in: Any) -> None:
    page = post(cast, signed_in(cast.assistant), "near-miss", {"submission": str(uuid4()), "how": ""})
    assert "Tap where it was." in page
    assert "Tap what it was, or say it in your words." in page
    assert not near_misses(cast).exists()


@pytest.mark.parametrize(("contaminated", "now", "logged"), [("yes", True, 1), ("unsure", True, 1), ("no", False, 0)])
def test_the_contaminated_question_decides_the_path(
    cast: Cast, signed_in: Any, contaminated: str, now: bool, logged: int
) -> None:
    """29 CFR 1910.1030(h)(5)(i): the log is for contaminated sharps (O-09). Unsure is treated as yes (D)."""
    page = post(cast, signed_in(cast.assistant), "new", event(contaminated=contaminated))
    assert (AT_ONCE in page, len(sharps_log(cast.lane))) == (now, logged)


def test_the_banner_says_8_and_24_hours(cast: Cast, signed_in: Any) -> None:
    assert "a death within 8 hours" in post(cast, signed_in(cast.assistant), "new", event())


def test_a_near_miss_is_only_looked_at() -> None:
    assert not path_of("near miss", "").in_log


@pytest.mark.parametrize("field", ["how", "place", "item"])
def test_a_name_is_refused_by_name_and_loses_nothing(cast: Cast, signed_in: Any, field: str) -> None:
    page = post(cast, signed_in(cast.assistant), "new", event(**{field: "Then Wren picked it up."}))
    assert "Somebody’s name stands in it: Wren." in page
    assert "Then Wren picked it up." in page
    assert not Incident.objects.exclude(kind="near miss").exists()


def test_names_are_found_as_words_with_a_capital() -> None:
    names = ["Grace Adeyemi", "Zoë Ångström-Łuczak", "Bo Li"]
    assert names_within("With grace, Adeyemi and Zoë fell; Bo is too short.", names) == ["Adeyemi", "Zoë"]


def test_a_sharps_injury_needs_type_and_brand_and_the_contaminated_answer(cast: Cast, signed_in: Any) -> None:
    page = post(cast, signed_in(cast.assistant), "new", event(item="", contaminated=""))
    assert "Write kind and brand, or “none” or “unknown”." in page
    assert "Choose yes, no or unsure" in page


def test_the_printed_log_holds_no_name_of_anybody(cast: Cast, signed_in: Any) -> None:
    """O-10: the printed log has no name; its table is searched for every name of the practice."""
    post(cast, signed_in(cast.assistant), "new", event())
    page = signed_in(cast.coordinator).get(f"/{cast.lane.code}/upkeep/events/log/").content.decode()
    table = page[page.index("<table") : page.index("</table>")]
    assert "The cutter slipped out of the holder." in table
    assert [who for _, member in cast.members() for who in str(member.person).split() if who in table] == []


def test_there_is_no_field_for_medical_detail_or_for_whoever_was_hurt() -> None:
    """O-18 (own rule): medical detail stays out of the register; only “referred” is kept."""
    columns = {field.name for field in Incident._meta.get_fields()}
    own = columns - {
        "id",
        "site",
        "happened_on",
        "happened_at",
        "recorded_at",
        "recorded_by",
        "corrects",
        "reason",
        "reviews",
    }
    assert own == {
        "kind",
        "contaminated",
        "item",
        "place",
        "how",
        "equipment",
        "procedure_code",
        "referred",
        "learned_at",
    }


def test_an_injury_changes_nobodys_standing(cast: Cast, signed_in: Any) -> None:
    before = list(StandingSpan.objects.values_list())
    post(cast, signed_in(cast.assistant), "new", event())
    assert list(StandingSpan.objects.values_list()) == before


def test_a_review_looks_at_the_place_and_ends_the_waiting(cast: Cast, signed_in: Any) -> None:
    form = {
        "submission": str(uuid4()),
        "looked_at": "The bench light",
        "changed": "A second lamp",
        "causes": ["place, light or way"],
    }
    page = post(cast, signed_in(cast.coordinator), f"{cast.event.pk}/review", form)
    assert IncidentReview.objects.get().incident == cast.event
    assert "Every event</span> was looked into." in page


def test_another_sites_event_is_not_there(cast: Cast, signed_in: Any) -> None:
    other = Incident.objects.get(site=cast.court)
    assert signed_in(cast.coordinator).get(f"/{cast.lane.code}/upkeep/events/{other.pk}/review/").status_code == 404


def test_only_those_who_look_into_events_read_them(cast: Cast, signed_in: Any) -> None:
    assert signed_in(cast.assistant).get(f"/{cast.lane.code}/upkeep/events/").status_code == 403


def test_a_review_says_what_it_came_from(cast: Cast, signed_in: Any) -> None:
    form = {"submission": str(uuid4()), "looked_at": "The bench light", "changed": "A second lamp"}
    client, page = signed_in(cast.coordinator), f"{cast.event.pk}/review"
    assert "Tick at least one, or “not found yet”." in post(cast, client, page, form)
    assert "A second lamp" in post(cast, client, page, form | {"causes": ["Wren"]})
    post(cast, client, page, form | {"causes": ["place, light or way", "haste or interruption"]})
    assert IncidentReview.objects.get().causes == ["place, light or way", "haste or interruption"]


def test_a_procedure_that_nobody_knows_is_refused_and_a_known_one_is_kept(cast: Cast, signed_in: Any) -> None:
    put_in_force(cast, "P13")
    client = signed_in(cast.assistant)
    assert "No procedure in force is called P99." in post(cast, client, "new", event(procedure_code="p99"))
    post(cast, client, "new", event(procedure_code="p13"))
    assert Incident.objects.get(kind="sharps injury").procedure_code == "P13"


def test_the_same_injury_sent_twice_is_one(cast: Cast, signed_in: Any) -> None:
    sent = event()
    for _ in range(2):
        post(cast, signed_in(cast.assistant), "new", sent)
    assert Incident.objects.filter(kind="sharps injury").count() == 1


@pytest.mark.parametrize(
    ("field", "says"), [("day", "The day is in the future."), ("equipment", "Choose a unit of this site.")]
)
def test_bad_input_is_refused_by_name_and_loses_nothing(cast: Cast, signed_in: Any, field: str, says: str) -> None:
    wrong = {"day": "1 Jan 2099", "equipment": str(cast.other_unit.pk)}[field]
    page = post(cast, signed_in(cast.assistant), "new", event(**{field: wrong}))
    assert says in page
    assert "The cutter slipped out of the holder." in page
    assert not Incident.objects.filter(kind="sharps injury").exists()


def test_no_column_leads_from_a_withdrawal_to_an_event_or_back() -> None:
    """Design, section 6: an injury or its report never changes anyone's standing."""
    leads = {
        (model, field.related_model) for model in (Withdrawal, Incident, IncidentReview) for field in model._meta.fields
    }
    assert not leads & {(Withdrawal, Incident), (Withdrawal, IncidentReview), (Incident, Withdrawal)}
    assert not {"incident", "event"} & {field.name for field in Withdrawal._meta.fields}


def test_no_page_about_a_person_names_an_event(cast: Cast, signed_in: Any) -> None:
    put_in_force(cast, "P13")
    post(cast, signed_in(cast.assistant), "new", event(procedure_code="P13"))
    filed, who = Incident.objects.get(kind="sharps injury"), cast.assistant.person.pk
    client, lane = signed_in(cast.coordinator), cast.lane.code
    pages = [client.get(f"/{lane}/people/{path}").content.decode() for path in ("", f"{who}/", f"{who}/P13/")]
    assert [str(filed.pk) in page or filed.how in page for page in pages] == [False, False, False]


def test_a_supervisor_does_not_read_the_fact_of_an_injury(cast: Cast, signed_in: Any) -> None:
    """29 CFR 1910.1030(h)(5)(i) (O-10): confidential; only those who look into it."""
    post(cast, signed_in(cast.assistant), "new", event())
    page = f"/{cast.lane.code}/facts/{Incident.objects.get(kind='sharps injury').pk}/"
    answers = [signed_in(who).get(page).status_code for who in (cast.assistant, cast.supervisor, cast.coordinator)]
    assert answers == [404, 404, 200]


def test_the_log_says_how_long_each_line_is_kept(cast: Cast, signed_in: Any) -> None:
    """29 CFR 1904.33(a) (O-12): five years after the end of the calendar year."""
    post(cast, signed_in(cast.assistant), "new", event(day="14 Mar 2026"))
    page = signed_in(cast.coordinator).get(f"/{cast.lane.code}/upkeep/events/log/").content.decode()
    assert "kept through 31 December 2031" in page


@pytest.mark.parametrize(
    ("changes", "by_24", "since"),
    [
        ({"happened_at": "09:30"}, "by 2 June 2026 at 09:30", "counted from 1 June 2026 at 09:30"),
        (
            {"happened_at": "09:30", "learned_day": "2 Jun 2026", "learned_time": "11:00"},
            "by 3 June 2026 at 11:00",
            "counted from 2 June 2026 at 11:00",
        ),
        ({}, "by 4 June 2026 at 12:15", "counted from 3 June 2026 at 12:15"),  # filed at 12:15 in London
    ],
)
def test_the_hours_run_from_the_event_or_from_when_it_was_learned_of_by_the_clock_of_the_site(
    cast: Cast, signed_in: Any, changes: dict[str, str], by_24: str, since: str
) -> None:
    """O-16, V: 29 CFR 1904.39: 09:30 on 1 June is 09:30 on 2 June, local; London is an hour ahead of UTC then."""
    with clock.standing_at(datetime(2026, 6, 3, 11, 15, tzinfo=UTC)):
        page = post(cast, signed_in(cast.assistant), "new", event(day="1 Jun 2026") | changes)
    assert by_24 in page
    assert since in page
    assert "(Europe/London)" in page


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"learned_day": "1 Jun 2026"}, "Write the day and the time, or neither."),
        ({"learned_day": "31 May 2026", "learned_time": "10:00"}, "That is before it happened."),
        ({"learned_day": "3 Jun 2026", "learned_time": "23:00"}, "That moment has not come."),
        ({"happened_at": "half past"}, "Write the time as 14:30."),
    ],
)
def test_a_moment_that_cannot_be_is_refused(cast: Cast, signed_in: Any, changes: dict[str, str], says: str) -> None:
    with clock.standing_at(datetime(2026, 6, 3, 11, 15, tzinfo=UTC)):
        assert says in post(cast, signed_in(cast.assistant), "new", event(day="1 Jun 2026") | changes)
    assert not Incident.objects.filter(kind="sharps injury").exists()


def test_instants_are_said_by_the_clock_of_the_site(cast: Cast, signed_in: Any) -> None:
    """In June London is an hour ahead of UTC; only the seal is said in UTC."""
    with clock.standing_at(datetime(2026, 6, 3, 11, 15, tzinfo=UTC)):
        row = log_use(cast.unit, 3, site=cast.lane, by=cast.owner.person, day=date(2026, 6, 3))
        page = signed_in(cast.owner).get(f"/{cast.lane.code}/facts/{row.pk}/").content.decode()
    assert "Recorded on 3 June 2026 at 12:15 (Europe/London time)" in page
    assert "3 June 2026 at 11:15:00 UTC" in page
