"""Beginning an observation, marking it and sending it."""

import json
import re
from datetime import date
from typing import Any
from urllib.parse import parse_qs, urlsplit
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from clinic.actions.upkeep import stop_unit
from clinic.models import OutsideWitness, SiteFact, SiteFactValue, UpkeepEntry, UpkeepTask
from clinic.record import Refused, record
from tests.cast import Cast
from tests.training.bench import ALL_RIGHT, MISSED, STEPS, Bench, at, proof, set_up
from training.actions.grants import grant_authority
from training.forms.observe import Setup
from training.models import Observation
from training.reads.watched import set_aside_of
from training.rules.facts import State
from training.rules.texts import Step

pytestmark = pytest.mark.django_db
DATA = {"HTTP_ACCEPT": "application/json"}


@pytest.fixture
def bench(cast: Cast) -> Bench:
    return set_up(cast)


@pytest.fixture
def client(bench: Bench, signed_in: Any) -> Client:
    return signed_in(bench.cast.supervisor)


def choices(bench: Bench, **more: Any) -> dict[str, Any]:
    chosen = {
        "person": bench.cast.assistant.person.pk,
        "procedures": [bench.version.pk],
        "equipment": bench.cast.unit.pk,
        "watched_by": "me",
        "purpose": "assessment",
        "method": "real",
    }
    return chosen | more


def begin(client: Client, bench: Bench, **more: Any) -> Any:
    return client.post(reverse("training:observe_start", args=["millbrook-lane"]), choices(bench, **more))


def sent(**more: Any) -> dict[str, Any]:
    marks = more.pop("marks", ALL_RIGHT)
    return {f"P06-{key}": word for key, word in marks.items()} | {"finished_at": "2025-02-04T12:00:00Z"} | more


def errors(answer: Any) -> dict[str, Any]:
    return dict(answer.context["form"].errors)


def test_an_observation_begins_at_the_bench_with_every_step(bench: Bench, client: Client) -> None:
    with at(4):
        page = client.get(begin(client, bench).url)
    assert b"Lift them with tweezers." in page.content


def test_a_tablet_at_its_bench_leads_there_from_today(bench: Bench, client: Client) -> None:
    with at(20):
        client.post("/millbrook-lane/upkeep/tablet/", {"equipment": str(bench.cast.unit.pk)})
        shown = client.get("/millbrook-lane/today/").content.decode()
    assert f'href="{reverse("training:observe_start", args=["millbrook-lane"])}">Observe</a>' in shown


def card(client: Client, query: str = "") -> Any:
    return client.get(reverse("training:observe_start", args=["millbrook-lane"]) + query).context["card"]


def test_an_observation_begins_in_two_taps_from_the_card_of_today(bench: Bench, client: Client) -> None:
    with at(4):
        page = f"?person={bench.cast.assistant.person.pk}&procedure=P06"
        filled = card(client, page)
        assert (filled.person, filled.version, filled.unit) == (
            bench.cast.assistant.person,
            bench.version,
            bench.cast.unit,
        )
        shown = client.get(reverse("training:observe_start", args=["millbrook-lane"]) + page).content.decode()
        names = set(re.findall(r'<input type="hidden" name="(\w+)"', shown.split('id="likely"')[1].split("</form>")[0]))
        assert names - {"csrfmiddlewaretoken"} | {"purpose"} == set(choices(bench))
        assert begin(client, bench, method=filled.method.value).status_code == 302


def test_a_stopped_unit_is_on_no_card_and_nobody_is_on_a_card_of_their_own(bench: Bench, client: Client) -> None:
    with at(4):
        stop_unit(bench.cast.unit, "It hums.", site=bench.cast.lane, by=bench.cast.assistant.person)
        assert card(client, f"?person={bench.cast.assistant.person.pk}&procedure=P06").unit != bench.cast.unit
        filled = card(client, f"?person={bench.cast.supervisor.person.pk}&procedure=P06")
        assert filled is None or filled.person != bench.cast.supervisor.person


def test_nobody_observes_oneself(bench: Bench, client: Client) -> None:
    with at(4):
        assert "person" in errors(begin(client, bench, person=bench.cast.supervisor.person.pk))


def test_nobody_observes_without_authority(bench: Bench, signed_in: Any, cast: Cast) -> None:
    with at(4):
        answer = signed_in(cast.coordinator).get(reverse("training:observe_start", args=["millbrook-lane"]))
    assert answer.status_code == 403


def test_a_unit_of_another_site_is_no_choice(bench: Bench, client: Client) -> None:
    with at(4):
        assert "equipment" in errors(begin(client, bench, equipment=bench.cast.other_unit.pk))


def test_a_procedure_about_a_unit_asks_which(bench: Bench, client: Client) -> None:
    with at(4):
        assert "equipment" in errors(begin(client, bench, equipment=""))


def test_a_way_that_does_not_count_is_refused_for_an_assessment_and_says_why(cast: Cast, signed_in: Any) -> None:
    bench = set_up(cast, methods=frozenset({"real"}), renewal_methods=frozenset({"real"}))
    with at(4):
        found = errors(begin(signed_in(cast.supervisor), bench, method="talk"))
    assert "what-if talk does not count for Chamber cleaning (P06): real work counts." in found["method"][0]


def test_a_way_that_does_not_count_may_be_practice(cast: Cast, signed_in: Any) -> None:
    bench = set_up(cast, methods=frozenset({"real"}), renewal_methods=frozenset({"real"}))
    with at(4):
        assert begin(signed_in(cast.supervisor), bench, method="talk", purpose="practice").status_code == 302


def test_what_was_chosen_stays_when_something_is_missing(bench: Bench, client: Client) -> None:
    with at(4):
        page = begin(client, bench, method="")
    assert f'value="{bench.version.pk}" id="id_procedures_0" checked' in " ".join(page.content.decode().split())


def test_purpose_cannot_be_changed_in_the_address(bench: Bench, client: Client) -> None:
    with at(4):
        token = parse_qs(urlsplit(begin(client, bench).url).query)["setup"][0]
    assert Setup.of(token) is not None
    assert Setup.of(f"x{token}") is None


def test_an_address_that_nobody_began_leads_back_to_the_beginning(bench: Bench, client: Client) -> None:
    with at(4):
        answer = client.get(reverse("training:bench", args=["millbrook-lane"]) + "?setup=made-up")
    assert answer.url == "/millbrook-lane/observe/begin/"


def test_the_plain_page_records_the_marks(bench: Bench, client: Client) -> None:
    with at(4):
        answer = client.post(begin(client, bench).url, sent())
    row = Observation.objects.get()
    assert (answer.url, row.outcome) == (f"/millbrook-lane/observe/{row.pk}/", "met")
    assert row.marks == [{"step": key, "mark": word} for key, word in ALL_RIGHT.items()]


def test_the_script_is_told_where_to_go(bench: Bench, client: Client) -> None:
    with at(4):
        answer = client.post(begin(client, bench).url, sent(), **DATA)
    assert answer.json() == {"go": f"/millbrook-lane/observe/{Observation.objects.get().pk}/"}


def test_sent_twice_is_recorded_once(bench: Bench, client: Client) -> None:
    with at(4):
        url = begin(client, bench).url
        first, second = (client.post(url, sent(), **DATA).json() for _ in range(2))
    assert (first, Observation.objects.count()) == (second, 1)


def test_sent_twice_without_a_script_is_recorded_once(bench: Bench, client: Client) -> None:
    with at(4):
        url = begin(client, bench).url
    for hour in (13, 14):
        with at(4, hour):
            client.cookies.clear()
            client.force_login(bench.cast.supervisor.account, backend="clinic.accounts.AtWork")
            assert client.post(url, sent(finished_at="")).status_code == 302
    assert Observation.objects.count() == 1


def test_every_reason_is_told_at_once_and_the_marks_stay(bench: Bench, client: Client) -> None:
    with at(4):
        page = client.post(begin(client, bench).url, sent(marks={"s1": "alone"}, stopped=""))
    assert "P06: two steps are not marked." in page.content.decode()
    assert 'value="alone" id="id_P06-s1_0" checked' in " ".join(page.content.decode().split())


def test_the_script_is_told_every_reason(bench: Bench, client: Client) -> None:
    with at(4):
        answer = client.post(begin(client, bench).url, sent(marks={"s1": "asked"}), **DATA)
    assert answer.status_code == 422
    assert any("Choose one of the marks shown" in reason for reason in answer.json()["refusals"])


def test_a_stop_needs_its_reason(bench: Bench, client: Client) -> None:
    with at(4):
        answer = client.post(begin(client, bench).url, sent(stopped="on", marks={}), **DATA)
    assert "needs its reason" in " ".join(answer.json()["refusals"])


def test_a_stop_is_recorded_without_the_other_marks(bench: Bench, client: Client) -> None:
    with at(4):
        client.post(begin(client, bench).url, sent(stopped="on", stop_reason="A hand went in.", marks={"s1": "alone"}))
    row = Observation.objects.get()
    assert (row.outcome, row.critical_miss) == ("not met", True)


def test_a_tablet_that_locked_itself_keeps_the_marks_to_be_sent_again(bench: Bench, client: Client) -> None:
    with at(4):
        url = begin(client, bench).url
    with at(4, 14):
        assert client.post(url, sent(), **DATA).url.startswith("/unlock/")
    assert Observation.objects.count() == 0


def test_somebody_else_may_not_send_it(bench: Bench, client: Client, signed_in: Any) -> None:
    with at(4):
        url = begin(client, bench).url
        assert signed_in(bench.cast.second).post(url, sent(), **DATA).status_code == 403


def test_a_pause_is_kept(bench: Bench, client: Client) -> None:
    pause = {"from": "2025-02-04T11:50:00Z", "to": "2025-02-04T11:55:00Z", "why": "unit parked, door shut"}
    with at(4):
        client.post(begin(client, bench).url, sent(pauses=json.dumps([pause])))
    assert Observation.objects.get().pauses == [pause]


@pytest.fixture
def lamp(bench: Bench) -> SiteFact:
    return SiteFact.objects.create(
        name="stopped sign", of="milling unit", ask="What shows that it stands still?", question=1
    )


def answered(bench: Bench, fact: SiteFact, **answer: Any) -> None:
    row = SiteFactValue(
        site=bench.cast.lane, happened_on="2025-02-03", site_fact=fact, equipment=bench.cast.unit, **answer
    )
    record(row, by=bench.cast.coordinator.person)


def test_a_site_fact_is_filled_in(bench: Bench, client: Client, lamp: SiteFact) -> None:
    answered(bench, lamp, value="the green lamp")
    with at(4):
        assert b"the green lamp" in client.get(begin(client, bench).url).content


def test_a_fact_not_filled_in_is_marked_so(bench: Bench, client: Client) -> None:
    with at(4):
        assert "site-fact is-missing" in client.get(begin(client, bench).url).content.decode()


def test_a_step_about_what_is_not_used_here_is_not_asked_and_not_missed(
    cast: Cast, signed_in: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It says in its when what it is about."""
    lamp = SiteFact.objects.create(name="lamp", of="milling unit", ask="Which lamp?", question=1)
    about = Step("s1", "Wait for it.", critical=True, when="the unit has {lamp}")
    monkeypatch.setattr("tests.training.bench.STEPS", (about, *STEPS[1:]))
    bench = set_up(cast)
    answered(bench, lamp, not_used=True)
    with at(4):
        client = signed_in(cast.supervisor)
        client.post(begin(client, bench).url, sent(marks={"s2": "asked", "s3": "alone"}))
    assert Observation.objects.get().outcome == "met"


@pytest.fixture
def visitor(cast: Cast) -> OutsideWitness:
    return OutsideWitness.objects.create(
        organisation=cast.organisation,
        printed_name="Odile Marsh",
        qualification="trainer",
        comes_from="the maker",
        identified_how="badge",
    )


def test_an_outside_witness_is_recorded_by_somebody_with_authority(bench: Bench, client: Client, visitor: Any) -> None:
    with at(4):
        client.post(begin(client, bench, watched_by=str(visitor.pk)).url, sent())
    row = Observation.objects.get()
    assert (row.witness, row.observer, row.recorded_by) == (visitor, None, bench.cast.supervisor.person)


def test_a_witness_is_not_recorded_by_somebody_without_authority(bench: Bench, visitor: Any) -> None:
    with pytest.raises(Refused, match="no authority to record a witness"):
        bench.seen(4, observer=None, witness=visitor, by=bench.cast.coordinator.person)


def observed(client: Client, row: Observation, day: int = 4) -> str:
    with at(day):
        return client.get(reverse("training:observed", args=["millbrook-lane", row.pk])).content.decode()


def test_the_outcome_is_explained(bench: Bench, client: Client) -> None:
    assert "Not met: step 1 is critical and was prompted." in observed(client, bench.seen(4, MISSED))


def test_a_critical_miss_by_a_learner_asks_nothing(bench: Bench, client: Client) -> None:
    assert "Decide now" not in observed(client, bench.seen(4, MISSED))


def test_a_critical_miss_by_a_usable_person_asks_at_once(bench: Bench, client: Client) -> None:
    bench.signed()
    assert "Decide now" in observed(client, bench.seen(7, MISSED), 7)


def test_the_answer_to_a_miss_needs_its_reason(bench: Bench, client: Client) -> None:
    bench.signed()
    row = bench.seen(7, MISSED)
    with at(7):
        page = client.post(reverse("training:miss", args=["millbrook-lane", row.pk]), {"reason": ""})
    assert "Say why the sign-off may stand" in page.content.decode()


def test_the_answer_to_a_miss_is_recorded_and_no_longer_asked(bench: Bench, client: Client) -> None:
    bench.signed()
    row = bench.seen(7, MISSED)
    form = {"reason": "One word at a new lamp.", "submission": "5f0c2b7e-0000-4000-8000-000000000001"}
    with at(7):
        client.post(reverse("training:miss", args=["millbrook-lane", row.pk]), form)
    page = observed(client, row, 7)
    assert "One word at a new lamp." in page and "Decide now" not in page


def test_evidence_that_is_enough_leads_to_signing(bench: Bench, client: Client) -> None:
    bench.seen(4)
    row = bench.seen(5)
    assert f"/millbrook-lane/sign/{row.person_id}/P06/" in observed(client, row, 5)


def test_an_observation_of_another_site_is_not_there(bench: Bench, signed_in: Any) -> None:
    row = bench.seen(4)
    with at(4):
        answer = signed_in(bench.cast.elsewhere).get(reverse("training:observed", args=["sandbar-court", row.pk]))
    assert answer.status_code == 404


def test_a_correction_stands_in_the_place_of_the_first(bench: Bench, client: Client) -> None:
    first = bench.seen(4, MISSED)
    form = sent(reason="Tapped the wrong mark.", submission="5f0c2b7e-0000-4000-8000-000000000002")
    form |= proof(bench.cast.supervisor)
    with at(5):
        client.post(reverse("training:correct", args=["millbrook-lane", first.pk]), form)
    assert [(row.corrects, row.outcome) for row in Observation.objects.live()] == [(first.pk, "met")]


def test_a_correction_needs_its_reason(bench: Bench, client: Client) -> None:
    first = bench.seen(4, MISSED)
    with at(5):
        page = client.post(reverse("training:correct", args=["millbrook-lane", first.pk]), sent())
    assert "Say in a few words what was wrong." in page.content.decode()


def test_only_whoever_watched_corrects_the_marks(bench: Bench, signed_in: Any) -> None:
    first = bench.seen(4)
    with at(5):
        answer = signed_in(bench.cast.second).get(reverse("training:correct", args=["millbrook-lane", first.pk]))
    assert answer.status_code == 403


def test_real_work_that_was_assessed_is_logged_from_the_observation(cast: Cast, signed_in: Any) -> None:
    bench = set_up(cast, upkeep_covered=("U01",))
    task = UpkeepTask.objects.create(
        code="U01", title="Clean the chamber", equipment_kind="milling unit", covered_by="P06"
    )
    row = bench.seen(4)
    with at(4):
        client = signed_in(cast.supervisor)
        [link] = client.get(reverse("training:observed", args=["millbrook-lane", row.pk])).context["seen"][0][1]
        form = {name: [value] for name, value in client.get(link[1]).context["form"].initial.items()}
        client.post(link[1], {name: str(value[0]) for name, value in form.items()} | {"submission": uuid4()})
    entry = UpkeepEntry.objects.get(task=task)
    assert (entry.from_observation, entry.done_by, entry.stood_by) == (row.pk, row.person, row.observer)


def will_not_count(client: Client, query: str = "") -> str:
    with at(5):
        return client.get(reverse("training:observe_start", args=["millbrook-lane"]) + query).context["will_not_count"]


def test_before_anybody_is_watched_it_says_where_the_watching_will_not_count_and_why(
    bench: Bench, signed_in: Any
) -> None:
    """A founder's watching counts; one with plain authority who was never signed off is told before the first mark."""
    elder, today = bench.cast.coordinator, date(2025, 2, 5)
    with at(5, 8):
        grant_authority(elder.person, bench.cast.lane, today, None, by=bench.cast.owner.person, procedures=["P06"])
    says = will_not_count(signed_in(elder))
    assert says.startswith(
        "An assessment that Bram Okafor watches will not count as evidence in P06: Bram Okafor is untrained in P06."
    )
    assert "Let somebody who may work alone in it watch" in says
    assert will_not_count(signed_in(bench.cast.supervisor)) == ""
    with at(5):
        answer = begin(signed_in(elder), bench)
        assert "will not count in P06" in signed_in(elder).get(answer.url).content.decode()
        drill = begin(signed_in(elder), bench, purpose="practice")
        assert "will not count in P06" not in signed_in(elder).get(drill.url).content.decode()


def test_where_the_owner_gave_a_reason_nothing_is_warned_of(bench: Bench, signed_in: Any) -> None:
    elder = bench.cast.coordinator
    with at(5, 8):
        grant_authority(
            elder.person, bench.cast.lane, date(2025, 2, 5), None, by=bench.cast.owner.person, procedures=["P06"],
            counts_because="She wrote the checklist.",
        )  # fmt: skip
    assert will_not_count(signed_in(elder)) == ""


def test_the_warning_comes_true(bench: Bench, signed_in: Any) -> None:
    """What the page warns of is what the rules set aside, by their own words."""
    elder, wren = bench.cast.coordinator.person, bench.cast.assistant.person
    with at(5, 8):
        grant_authority(elder, bench.cast.lane, date(2025, 2, 5), None, by=bench.cast.owner.person, procedures=["P06"])
    seen = bench.seen(5, observer=elder)
    assert set_aside_of(bench.cast.organisation, [wren]) == {str(seen.pk): State.UNTRAINED}


def test_a_stopped_unit_is_said_where_an_observation_is_begun_and_where_it_goes_on(
    bench: Bench, client: Client
) -> None:
    cast, says = bench.cast, "unit 1 is out of service since 4 February 2025: It smells."
    with at(4):
        start = reverse("training:observe_start", args=["millbrook-lane"])
        here = f"{start}?person={cast.assistant.person.pk}&procedure=P06&equipment={cast.unit.pk}"
        assert says not in client.get(here).content.decode()
        stop_unit(cast.unit, "It smells.", site=cast.lane, by=cast.assistant.person)
        assert says in client.get(here).content.decode()
        assert says in client.get(begin(client, bench).url).content.decode()


def test_the_stop_for_what_is_unsafe_has_its_label_on_the_page_of_corrections(bench: Bench, client: Client) -> None:
    with at(4):
        client.post(begin(client, bench).url, sent())
        page = client.get(reverse("training:correct", args=["millbrook-lane", Observation.objects.get().pk]))
    assert '<label for="id_stopped">Stop: unsafe</label>' in page.content.decode()
