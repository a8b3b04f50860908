"""What nobody sends from our pages is answered in words, never by a fault of the register, and nothing is recorded of it."""

import json
from datetime import date
from typing import Any
from uuid import uuid4

import pytest
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

from clinic import clock
from clinic.forms.base import DayField
from clinic.models import KeptElsewhere, Seal, UpkeepEntry, Use
from clinic.record import Refused, record
from tests.cast import Cast
from tests.training.bench import ALL_RIGHT, START, STEPS, approved, at, proved, set_up
from training.actions.grants import found
from training.models import Observation, Procedure
from training.rules.facts import Policy

pytestmark = pytest.mark.django_db
LANE = "millbrook-lane"


def begin(cast: Cast, client: Client, versions: list[Any], **more: Any) -> Any:
    said = {"person": cast.assistant.person.pk, "procedures": [row.pk for row in versions], "equipment": cast.unit.pk}
    said |= {"watched_by": "me", "purpose": "assessment", "method": "real"} | more
    return client.post(reverse("training:observe_start", args=[LANE]), said)


def test_two_procedures_watched_in_a_way_that_counts_for_neither_are_both_named(cast: Cast, signed_in: Any) -> None:
    real = {"methods": frozenset({"real"}), "renewal_methods": frozenset({"real"})}
    first = set_up(cast, **real)
    other = Procedure.objects.create(
        organisation=cast.organisation, code="P07", title="Tool change", area="cleaning", equipment_kind="milling unit"
    )
    with at(3, 8):
        second = approved(cast, other, Policy(needed=2, distinct_days=2, check_asked=False, idle_days=183, **real))
        found(
            cast.supervisor.person, cast.lane, START, date(2025, 12, 31), by=cast.owner.person, procedures=["P07"],
            rests_on="visit", detail="The trainer’s visit.", proved=proved(),
        )  # fmt: skip
    with at(4):
        answer = begin(cast, signed_in(cast.supervisor), [first.version, second], method="talk")
    said = answer.context["form"].errors["method"]
    assert ["(P06)" in said[0], "(P07)" in said[1], len(said)] == [True, True, 2]


def test_the_number_of_another_kind_of_fact_is_refused_and_both_stand(cast: Cast) -> None:
    day, by = clock.today("UTC"), cast.owner.person
    use = record(Use(site=cast.lane, happened_on=day, equipment=cast.unit, units=1), by=by)
    paper = KeptElsewhere(id=use.pk, site=cast.lane, happened_on=day, what="Plan", place="folder", keeper="Bram")
    with pytest.raises(Refused, match="number of something else"):
        record(paper, by=by)
    assert (Seal.objects.filter(fact=use.pk).count(), KeptElsewhere.objects.count()) == (1, 0)


def test_the_number_of_another_kind_of_fact_in_a_form_is_answered_on_its_page(cast: Cast, signed_in: Any) -> None:
    day, by = clock.today("UTC"), cast.owner.person
    paper = KeptElsewhere(site=cast.lane, happened_on=day, what="Plan", place="folder", keeper="Bram")
    record(paper, by=by)
    said = {"submission": str(paper.pk), "units": "3", "day": day.isoformat()}
    answer = signed_in(cast.assistant).post(reverse("clinic:use", args=[LANE, cast.unit.pk]), said)
    assert (answer.status_code, Use.objects.count()) == (200, 0)
    assert b"number of something else" in answer.content


@pytest.mark.parametrize("day", ["31 Dec 9999", "0001-01-01", "31 Dec 2200", "1899-12-31"])
def test_a_day_beyond_the_calendar_of_the_register_is_no_day(day: str) -> None:
    with pytest.raises(ValidationError, match="from 1900 to 2199"):
        DayField().clean(day)


@pytest.mark.parametrize("query", ["day=9999-12-31", "day=1+Jan+0001", "day=1+Feb+2025&known=9999-12-31", "day=%C2%B2"])
def test_the_matrix_says_which_days_it_takes(cast: Cast, signed_in: Any, query: str) -> None:
    page = signed_in(cast.owner).get(f"{reverse('training:matrix', args=[LANE])}?{query}")
    assert page.status_code == 200 and any(page.context["wrong"].values())


def test_no_square_of_the_matrix_lies_beyond_the_calendar(cast: Cast, signed_in: Any) -> None:
    set_up(cast)
    for day in ("9999-12-31", "0001-01-01"):
        where = reverse("training:cell", args=[LANE, cast.assistant.person.pk, "P06", day])
        assert signed_in(cast.owner).get(where).status_code == 404


ODD_ENDS = ["9999-12-31T23:59:59-12:00", "0001-01-01T00:00:00+14:00", "²", "2025-02-04T12:00:00+99:00"]
ODD_PAUSES = [
    "1", "[1]", "{}x", '[{"from": 1}]', "[" * 100_000,
    json.dumps([{"from": "soon", "to": "2025-02-04T11:00:00Z", "why": ""}]),
    json.dumps([{"from": "2025-02-04T11:00:00Z", "to": "9999-12-31T23:59:59-12:00", "why": ""}]),
    json.dumps([{"from": "2025-02-04T11:00:00Z", "to": "2025-02-04T11:05:00Z", "why": "a\0b"}]),
    json.dumps([{"from": "2025-02-04T11:00:00Z", "to": "2025-02-04T11:05:00Z", "why": "\ud800"}]),
]  # fmt: skip


@pytest.mark.parametrize(
    ("field", "odd"), [*(("finished_at", odd) for odd in ODD_ENDS), *(("pauses", odd) for odd in ODD_PAUSES)]
)
def test_times_that_no_tablet_says_are_refused_at_the_bench(cast: Cast, signed_in: Any, field: str, odd: str) -> None:
    bench, client = set_up(cast), signed_in(cast.supervisor)
    with at(4):
        url = begin(cast, client, [bench.version]).url
        marks = {f"P06-{step.key}": ALL_RIGHT[step.key] for step in STEPS}
        answer = client.post(url, marks | {"finished_at": "2025-02-04T12:00:00Z"} | {field: odd})
    assert (answer.status_code, list(answer.context["form"].errors)) == (200, [field])
    assert not Observation.objects.exists()


@pytest.mark.parametrize(
    "address", [f"/{LANE}/people/?name=%00", f"/{LANE}/today/?%00", "/sign-in/?next=/%00", f"/{LANE}/%00/", "/%00/"]
)
def test_an_address_with_a_letter_that_cannot_be_kept_is_answered_in_words(
    cast: Cast, signed_in: Any, address: str
) -> None:
    page = signed_in(cast.owner).get(address)
    assert page.status_code == 400 and b"What was sent could not be read." in page.content


def test_a_form_with_a_letter_that_cannot_be_kept_is_refused_at_its_field(cast: Cast, signed_in: Any) -> None:
    day = clock.today("UTC").isoformat()
    said = {"submission": str(uuid4()), "units": "3", "day": day, "what": "a\0b"}
    answer = signed_in(cast.assistant).post(reverse("clinic:use", args=[LANE, cast.unit.pk]), said)
    assert (answer.status_code, list(answer.context["form"].errors), Use.objects.count()) == (200, ["what"], 0)


def test_a_refusal_that_no_page_says_is_said_all_the_same(cast: Cast, signed_in: Any, monkeypatch: Any) -> None:
    def refuses(*args: Any, **more: Any) -> None:
        raise Refused(*[])

    monkeypatch.setattr("clinic.views.upkeep_use.uses_of", refuses)
    answer = signed_in(cast.assistant).get(reverse("clinic:use", args=[LANE, cast.unit.pk]))
    assert answer.status_code == 409 and b"Nothing was recorded." in answer.content
    assert not UpkeepEntry.objects.exists()
