"""A job at the milling unit: started from the block, ended with how it came out; what follows from it, and taking it back."""

from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clinic.actions.blocks import enter_lot
from clinic.actions.jobs import EndAsked, JobAsked, end_job, start_job, want_in_set
from clinic.actions.taking_back import take_back
from clinic.actions.tools import enter_tool
from clinic.actions.upkeep import stop_unit
from clinic.models import BlockLot, JobEnded, JobStarted, MillingTool, SiteFact, SiteFactValue, ToolMounted, Use
from clinic.reads.jobs import counts, plain_jobs
from clinic.reads.tools import tools_now
from clinic.record import Refused, record
from clinic.rules.jobs import JobOutcome
from tests import stand_in
from tests.cast import Cast
from tests.equipment_findings import equipment_findings
from training.reads.binder import jobs as binder
from training.reads.binder.asked import BinderAsked

pytestmark = pytest.mark.django_db
TODAY = date.today()
ZIRCONIA = "pre-sintered zirconia"


@pytest.fixture(autouse=True)
def holders(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    """Only the supervisor may mill alone."""
    held = {cast.supervisor.person.pk}
    stand_in.usable(monkeypatch, held)


@pytest.fixture
def lot(cast: Cast) -> BlockLot:
    row = BlockLot(site=cast.lane, lot="ZR-1", material=ZIRCONIA, factor=Decimal("1.2300"), received_on=TODAY)
    return enter_lot(row, by=cast.owner.person)


def mount(cast: Cast, code: str = "F20", kind: str = "fluted cutter", position: str = "1", **more: Any) -> ToolMounted:
    tool = MillingTool(site=cast.lane, code=code, kind=kind, seat="hex 1.3", **{"life": 2} | more)
    row = ToolMounted(
        site=cast.lane, happened_on=TODAY, equipment=cast.unit, tool=enter_tool(tool, by=cast.owner.person), position=position,
        done_by=cast.supervisor.person,
    )  # fmt: skip
    return record(row, by=cast.supervisor.person)


def begin(cast: Cast, lot: BlockLot, case: str = "26-1", id: UUID | None = None, **changes: Any) -> JobStarted:
    said = {"unit": cast.unit, "lot": lot, "case": case, "wet": False, "factor": Decimal("1.2300")} | changes
    return start_job(JobAsked(**said), site=cast.lane, by=cast.supervisor.person, id=id or uuid4())[0]


def finish(cast: Cast, job: JobStarted, outcome: str = "good", cause: str = "", **more: Any) -> JobEnded:
    asked = EndAsked(job, JobOutcome(outcome), cause, **more)
    return end_job(asked, site=cast.lane, by=cast.supervisor.person, id=uuid4())


def send(cast: Cast, client: Any, lot: BlockLot, **changes: str) -> str:
    form = {"submission": str(uuid4()), "case": "26-0417", "lot": str(lot.pk), "way": "dry", "factor": "1.2300"}
    page = f"/{cast.lane.code}/upkeep/unit/{cast.unit.pk}/job/"
    return client.post(page, form | changes, follow=True).content.decode()


def test_a_job_is_started_and_ended_by_two_short_forms(cast: Cast, signed_in: Any, lot: BlockLot) -> None:
    mounted, client = mount(cast), signed_in(cast.supervisor)
    assert "Case 26-0417 runs on unit 1. Stay for its first minutes." in send(cast, client, lot)
    job = JobStarted.objects.get()
    assert (job.tools, job.done_by, job.wet) == ([str(mounted.pk)], cast.supervisor.person, False)
    page = f"/{cast.lane.code}/upkeep/jobs/{job.pk}/end/"
    form = {"submission": str(uuid4()), "outcome": "good", "cause": "", "parts": "2"}
    assert "Of <span" in client.post(page, form, follow=True).content.decode()
    assert [(row.units, row.material, row.wet) for row in Use.objects.all()] == [(2, ZIRCONIA, False)]
    assert [one.used for one in tools_now(cast.lane, TODAY)] == [2]


def test_whoever_may_not_mill_alone_names_who_stood_by(cast: Cast, signed_in: Any, lot: BlockLot) -> None:
    client = signed_in(cast.assistant)
    assert "You may not mill alone today. Say who stood by: Ines Pellow could." in send(cast, client, lot)
    send(cast, client, lot, stood_by=str(cast.supervisor.person.pk))
    assert JobStarted.objects.get().stood_by == cast.supervisor.person


def test_a_job_with_nobody_usable_standing_by_is_recorded_and_a_finding(
    cast: Cast, signed_in: Any, lot: BlockLot
) -> None:
    send(cast, signed_in(cast.assistant), lot, stood_by="nobody")
    assert [f.code for f in equipment_findings(cast.lane, TODAY) if "Milling job" in f.sentence] == ["not held"]


@pytest.mark.parametrize("case", ["Jane Smith", "Smith"])
def test_a_name_is_no_case_and_nothing_typed_is_lost(cast: Cast, signed_in: Any, lot: BlockLot, case: str) -> None:
    page = send(cast, signed_in(cast.supervisor), lot, case=case)
    assert "no name" in page or "never the name" in page
    assert f'value="{case}"' in page
    assert not JobStarted.objects.exists()


def test_a_second_job_waits_for_the_end_of_the_first(cast: Cast, signed_in: Any, lot: BlockLot) -> None:
    job, client = begin(cast, lot), signed_in(cast.supervisor)
    assert "Case 26-1 is still running there." in send(cast, client, lot)
    finish(cast, job)
    send(cast, client, lot)
    assert JobStarted.objects.count() == 2


def test_nothing_is_milled_on_a_unit_that_is_out_of_service(cast: Cast, signed_in: Any, lot: BlockLot) -> None:
    stop_unit(cast.unit, "A new noise.", site=cast.lane, by=cast.assistant.person)
    assert "The unit is out of service: A new noise." in send(cast, signed_in(cast.supervisor), lot)


def test_tools_that_may_not_mill_it_are_in_the_way(cast: Cast, signed_in: Any, lot: BlockLot) -> None:
    """Z-07 (common practice): a grit-coated grinder is for glass-ceramic, wet."""
    mount(cast, "G12", "grit-coated grinder")
    page = send(cast, signed_in(cast.supervisor), lot)
    assert "No tool that sits there may mill pre-sintered zirconia, dry." in page


def test_the_factor_of_a_lot_that_shrinks_is_asked_and_a_wrong_one_warned_about(
    cast: Cast, signed_in: Any, lot: BlockLot
) -> None:
    """Z-05: a lot marked 1.2300 milled at 1.2200 → a 10 mm span ends 81 µm short."""
    client = signed_in(cast.supervisor)
    assert "The packet of this lot gives a factor." in send(cast, client, lot, factor="")
    assert "a 10 mm span would end 81 µm short" in send(cast, client, lot, factor="1.2200")


@pytest.fixture
def counted_code(cast: Cast) -> None:
    asked = SiteFact.objects.create(name="factor code", of="milling unit", ask="How many?", question=5)
    value = SiteFactValue(
        site=cast.lane,
        happened_on=TODAY,
        site_fact=asked,
        equipment=cast.unit,
        value="six characters, the point counted",
    )
    record(value, by=cast.coordinator.person)


def test_a_code_one_short_is_said_and_nothing_typed_is_lost(
    cast: Cast, signed_in: Any, lot: BlockLot, counted_code: None
) -> None:
    page = send(cast, signed_in(cast.supervisor), lot, block_code="1.230", factor="")
    assert "5 of 6 characters, one short: look for a blank, a printed dash or a point that counts." in page
    assert 'value="1.230"' in page and 'data-code-length="6"' in page and not JobStarted.objects.exists()


def test_a_code_that_is_a_plain_number_is_the_factor(
    cast: Cast, signed_in: Any, lot: BlockLot, counted_code: None
) -> None:
    client = signed_in(cast.supervisor)
    assert "The code says 1.2300" in send(cast, client, lot, block_code="1.2300", factor="1.2400")
    send(cast, client, lot, block_code="1.2300", factor="")
    job = JobStarted.objects.get()
    assert (job.code, job.factor) == ("1.2300", Decimal("1.2300"))


def test_a_code_that_is_no_number_is_kept_beside_the_factor(
    cast: Cast, signed_in: Any, lot: BlockLot, counted_code: None
) -> None:
    client = signed_in(cast.supervisor)
    assert "The packet of this lot gives a factor." in send(cast, client, lot, block_code="ZB-12A", factor="")
    send(cast, client, lot, block_code="ZB-12A")
    assert JobStarted.objects.get().code == "ZB-12A"


def test_where_no_length_is_known_no_code_is_asked(cast: Cast, signed_in: Any, lot: BlockLot) -> None:
    page = signed_in(cast.supervisor).get(f"/{cast.lane.code}/upkeep/unit/{cast.unit.pk}/job/").content.decode()
    assert "Code as printed" not in page and "Factor that the unit was given" in page


def test_another_sites_lot_is_refused(cast: Cast, lot: BlockLot) -> None:
    theirs = BlockLot.objects.create(site=cast.court, lot="X", material=ZIRCONIA, received_on=TODAY)
    with pytest.raises(Refused, match="not of this site"):
        begin(cast, theirs)


def test_the_same_start_sent_twice_is_one_and_so_is_the_same_end(cast: Cast, lot: BlockLot) -> None:
    one, mine = uuid4(), uuid4()
    job = begin(cast, lot, id=one)
    assert begin(cast, lot, id=one).pk == job.pk  # although it is running now
    for _ in range(2):
        end_job(EndAsked(job, JobOutcome.GOOD), site=cast.lane, by=cast.supervisor.person, id=mine)
    assert (JobStarted.objects.count(), JobEnded.objects.count(), Use.objects.count()) == (1, 1, 1)


def test_what_was_good_may_be_made_again_after_all_and_its_parts_count_once(cast: Cast, lot: BlockLot) -> None:
    job = begin(cast, lot)
    finish(cast, job)
    finish(cast, job, "remade", "does not fit")
    with pytest.raises(Refused, match="ended already: remade"):
        finish(cast, job, "crash", "worn or broken tool")
    assert [one.outcome for one in plain_jobs(cast.lane, TODAY, TODAY)] == [JobOutcome.REMADE]
    assert Use.objects.count() == 1


def test_taking_an_end_back_takes_its_use_and_opens_the_job_again(cast: Cast, lot: BlockLot) -> None:
    job, me = begin(cast, lot), cast.coordinator.person
    first, later = finish(cast, job), finish(cast, job, "remade", "does not fit")
    with pytest.raises(Refused, match="made again"):
        take_back(first, by=me, reason="The wrong case.")
    take_back(later, by=me, reason="The wrong case.")
    take_back(first, by=me, reason="The wrong case.")
    assert not Use.objects.live().exists()
    assert finish(cast, job, "crash", "loose or cracked block").outcome == "crash"


def test_taking_a_job_back_takes_its_end_and_its_use(cast: Cast, lot: BlockLot) -> None:
    mount(cast)
    job = begin(cast, lot)
    finish(cast, job)
    take_back(job, by=cast.coordinator.person, reason="The wrong unit.")
    assert not JobEnded.objects.live().exists() and not Use.objects.live().exists()
    assert [one.used for one in tools_now(cast.lane, TODAY)] == [0]


def test_minutes_of_a_job_run_on_the_tools_that_sat_there(cast: Cast, lot: BlockLot) -> None:
    """Z-11 (common practice): life is kept as the unit keeps it; here in minutes."""
    mount(cast, life=30, life_unit="minutes")
    finish(cast, begin(cast, lot), minutes=12)
    finish(cast, begin(cast, lot), minutes=20)
    assert [(one.used, one.share_left) for one in tools_now(cast.lane, TODAY)] == [(32, 0)]
    assert "tool past life" in {finding.code for finding in equipment_findings(cast.lane, TODAY)}


def test_a_worn_tool_and_a_long_rest_warn(cast: Cast, lot: BlockLot) -> None:
    mount(cast, life=1)
    job = begin(cast, lot)
    finish(cast, job)
    asked = JobAsked(cast.unit, lot, "26-2", wet=False, factor=Decimal("1.2300"))
    _, warnings = start_job(asked, site=cast.lane, by=cast.supervisor.person, id=uuid4())
    assert warnings == ["F20 is past the end of life."]


def test_crashes_stand_on_the_page_of_the_unit_and_counts_on_that_of_its_jobs(
    cast: Cast, signed_in: Any, lot: BlockLot
) -> None:
    mount(cast)
    finish(cast, begin(cast, lot), "crash", "loose or cracked block", note="The clamp was dusty.")
    client = signed_in(cast.assistant)
    page = client.get(f"/{cast.lane.code}/upkeep/equipment/{cast.unit.pk}/").content.decode()
    assert "Crashes here" in page and "The clamp was dusty." in page
    page = client.get(f"/{cast.lane.code}/upkeep/equipment/{cast.unit.pk}/jobs/").content.decode()
    assert "crashed 1 of 1 (2.5 to 100.0 %)" in page


def test_the_list_costs_as_many_queries_for_many_jobs_as_for_one(cast: Cast, signed_in: Any, lot: BlockLot) -> None:
    mount(cast, life=40)
    client, page = signed_in(cast.supervisor), f"/{cast.lane.code}/upkeep/jobs/"

    def asked() -> int:
        client.get(page)
        with CaptureQueriesContext(connection) as caught:
            assert client.get(page).status_code == 200
        return len(caught)

    finish(cast, begin(cast, lot))
    before = asked()
    for number in range(4):
        finish(cast, begin(cast, lot, f"26-{number}"), "remade", "does not fit")
    assert asked() == before
    assert counts(cast.lane, TODAY).all.remade == 4


def test_the_binder_holds_each_job_and_what_they_come_to(cast: Cast, lot: BlockLot) -> None:
    mount(cast)
    finish(cast, begin(cast, lot), "remade", "does not fit")
    begin(cast, lot, "26-2", stood_by=cast.second.person)
    asked = BinderAsked(cast.lane, TODAY, TODAY, TODAY)
    rows = binder.jobs(asked).rows
    assert [(row[2], row[3], row[-2]) for row in rows] == [
        ("26-1", "ZR-1", "remade: does not fit"),
        ("26-2", "ZR-1", "not ended"),
    ]
    assert [row[:2] for row in binder.job_counts(asked).rows] == [
        ["Unit unit 1", "1 of 1 (2.5 to 100.0 %)"], [f"Lot ZR-1, {ZIRCONIA}", "1 of 1 (2.5 to 100.0 %)"],
        ["Tool F20", "1 of 1 (2.5 to 100.0 %)"], ["Cause: does not fit", "1"],
    ]  # fmt: skip


def test_another_sites_jobs_are_not_ours(cast: Cast, signed_in: Any, lot: BlockLot) -> None:
    job = begin(cast, lot)
    client = signed_in(cast.elsewhere)
    assert client.get(f"/{cast.lane.code}/upkeep/jobs/{job.pk}/end/").status_code == 404
    assert client.get(f"/{cast.court.code}/upkeep/jobs/{job.pk}/end/").status_code == 404


# -- sets of tools ----------------------------------------------------------------------------------------------------


def the_set(cast: Cast, client: Any, query: str = "?material=pre-sintered+zirconia&way=dry") -> str:
    return client.get(f"/{cast.lane.code}/upkeep/equipment/{cast.unit.pk}/set/{query}").content.decode()


def test_the_page_of_a_set_says_what_is_not_there_and_leads_to_one_swap_after_the_other(
    cast: Cast, signed_in: Any, lot: BlockLot
) -> None:
    mount(cast)
    client = signed_in(cast.supervisor)
    assert "No set is written down" in the_set(cast, client)
    for position, tool in (("1", "fluted cutter"), ("2", "fluted cutter, coated")):
        want_in_set(cast.unit, TODAY, by=cast.owner.person, material=ZIRCONIA, way="dry", position=position, tool=tool)
    enter_tool(
        MillingTool(site=cast.lane, code="FC1", kind="fluted cutter, coated", seat="hex 1.3"), by=cast.owner.person
    )
    page = the_set(cast, client)
    assert "1 position to change" in page and "F20 sits there and stays." in page
    assert "In its holder: FC1." in page
    assert "swap/?position=2&amp;material=pre-sintered%20zirconia&amp;way=dry&amp;set=yes" in page


def test_a_line_without_a_tool_asks_nothing_any_more(cast: Cast, signed_in: Any) -> None:
    client, page = signed_in(cast.coordinator), f"/{cast.lane.code}/upkeep/equipment/{cast.unit.pk}/set/lines/"
    form = {"material": ZIRCONIA, "way": "dry", "position": "1", "size": "", "day": f"{TODAY:%d %b %Y}"}
    for tool in ("fluted cutter", ""):
        client.post(page, form | {"submission": str(uuid4()), "tool": tool})
    assert "No set is written down" in the_set(cast, client)
    assert signed_in(cast.assistant).get(page).status_code == 403


def test_a_swap_of_a_set_leads_back_to_the_set(cast: Cast, signed_in: Any) -> None:
    tool = enter_tool(
        MillingTool(site=cast.lane, code="T1", kind="fluted cutter", seat="hex 1.3"), by=cast.owner.person
    )
    form = {
        "submission": str(uuid4()), "still": "on", "nobody_can_start": "on", "protected": "on", "counted_out": "1", "counted_in": "1",
        "position": "1", "tool": str(tool.pk), "material": ZIRCONIA, "way": "dry", "driver": "",
    }  # fmt: skip
    at = f"/{cast.lane.code}/upkeep/unit/{cast.unit.pk}/swap/?position=1&material=pre-sintered+zirconia&way=dry&set=yes"
    answer = signed_in(cast.supervisor).post(at, form)
    assert answer.url.endswith(f"/equipment/{cast.unit.pk}/set/?material=pre-sintered+zirconia&way=dry")
