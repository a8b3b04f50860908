"""A row in every table of reference data, by the actions that a practice uses."""

from datetime import timedelta
from decimal import Decimal

from clinic import clock
from clinic.actions import days, people
from clinic.actions.blocks import enter_lot
from clinic.actions.tools import enter_tool
from clinic.changes import make
from clinic.models import Appointment, BlockLot, MillingTool, OutsideWitness, Post, SiteFact
from tests.cast import Cast
from training.actions.binder import give_pass
from training.actions.requirements import require
from training.models import Issue, Procedure


def enter_the_rest(cast: Cast, procedure: Procedure, issue: Issue) -> Cast:
    """Beside what the practice of seven and the procedure have already."""
    owner, lane = cast.owner.person, cast.lane
    today = clock.today(lane.time_zone)
    post = Appointment(person=cast.second.person, post=Post.COORDINATOR, site=lane, from_day=today)
    people.appoint(post, at=lane, by=owner)
    days.plan_absence(cast.assistant.person, today, today + timedelta(days=1), at=lane, by=owner)
    witness = {"printed_name": "Ida Crowe", "qualification": "Trainer", "comes_from": "Away", "identified_how": "Badge"}
    people.enter_witness(OutsideWitness(organisation=cast.organisation, **witness), at=lane, by=owner)
    enter_tool(MillingTool(site=lane, code="T1", kind="fluted cutter", seat="hex 1.3", life=40), by=owner)
    enter_lot(BlockLot(site=lane, lot="L1", material="zirconia", factor=Decimal("1.23"), received_on=today), by=owner)
    make(SiteFact(name="eye wash", of="site", ask="Where?", question=1), site=lane, by=owner, said="Eye wash")
    require(people.job_role(cast.organisation, "Dental assistant"), procedure, today, at=lane, by=owner)
    give_pass(issue, cast.inspector.person, today + timedelta(days=1), site=lane, by=owner)
    return cast
