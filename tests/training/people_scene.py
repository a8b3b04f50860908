"""Three procedures in force at the practice of seven, and a first standing in them: what the people pages are shown with.

P01 asks nothing, P04 rests on P01, P03 rests on P04 and asks a check and two assessments on two days.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import uuid4

from clinic import clock
from clinic.actions.people import job_role
from clinic.changes import make
from clinic.models import Person
from clinic.record import record
from clinic.rules.roles import ProcedureRole
from tests.cast import REGISTER_START, Cast
from training.actions.grants import PaperRecord, carry_over, found, grant_authority
from training.actions.proof import Proved
from training.actions.requirements import require
from training.models import FoundingGrant, Observation, Procedure, Version
from training.rules.facts import Policy
from training.rules.texts import Content, Step, content_to_json, policy_to_json

TODAY = date(2025, 3, 3)
NOON = datetime(2025, 3, 3, 12, tzinfo=UTC)
TEXT = Content(purpose="To do it well.", steps=(Step("s1", "Put the guard on", critical=True), Step("s2", "Wipe it")))
POLICIES = {
    "P01": ("Hand care", Policy(check_asked=False)),
    "P03": ("Tool swap", Policy(needed=2, distinct_days=2, prerequisites=("P04",))),
    "P04": ("Clamping a block", Policy(check_asked=False, prerequisites=("P01",))),
}


@dataclass(slots=True)
class Scene:
    """The cast with its procedures and versions by code."""

    cast: Cast
    procedures: dict[str, Procedure]
    versions: dict[str, Version]

    def anew(self) -> "Scene":
        """The same, with rows that no test has touched."""
        procedures, versions = (
            {code: type(row).objects.get(pk=row.pk) for code, row in rows.items()}
            for rows in (self.procedures, self.versions)
        )
        return Scene(self.cast, procedures, versions)


@contextmanager
def noon(day: date = TODAY) -> Iterator[None]:
    """The clock stands at noon of the day."""
    with clock.standing_at(datetime(day.year, day.month, day.day, 12, tzinfo=UTC)):
        yield


def set_scene(cast: Cast) -> Scene:
    """Versions in force from the register start; every dental assistant needs all three within 90 days."""
    scene = Scene(cast, {}, {})
    with noon(REGISTER_START):
        for code, (title, policy) in POLICIES.items():
            enter(scene, code, title, policy)
        role = job_role(cast.organisation, "Dental assistant")
        for code in POLICIES:
            require(role, scene.procedures[code], REGISTER_START, at=cast.lane, by=cast.coordinator.person)
        grant_authority(
            cast.supervisor.person,
            cast.lane,
            REGISTER_START,
            None,
            by=cast.owner.person,
            areas=["milling"],
            counts_because="She teaches and does not mill herself.",
        )
    return scene


RETURNS = {"P06": ["milling unit"]}


def enter(scene: Scene, code: str, title: str, policy: Policy) -> None:
    procedure = Procedure(
        organisation=scene.cast.organisation, code=code, title=title, area="milling", equipment_kind="milling unit",
        stands_for=ProcedureRole.TOOL_SWAP if title == "Tool swap" else "", returns=RETURNS.get(code, []),
    )  # fmt: skip
    make(procedure, site=scene.cast.lane, by=None, said=f"{code} entered")
    version = Version(
        site=scene.cast.lane, happened_on=REGISTER_START, procedure=procedure, number=1, in_force_from=REGISTER_START,
        content=content_to_json(TEXT), policy=policy_to_json(policy),
    )  # fmt: skip
    scene.procedures[code] = procedure
    scene.versions[code] = record(version, by=scene.cast.owner.person)


def carried(scene: Scene, person: Person, code: str, until: date) -> Any:
    paper = PaperRecord(person, scene.procedures[code], date(2024, 10, 1), "the paper list", "blue folder", until)
    keepers = (scene.cast.coordinator.person, scene.cast.owner.person)
    return carry_over(paper, scene.cast.lane, by=next(each for each in keepers if each != person))


def founded(scene: Scene, person: Person, *codes: str, until: date | None = None) -> FoundingGrant:
    return found(
        person, scene.cast.lane, REGISTER_START, until or REGISTER_START + timedelta(days=300), by=scene.cast.owner.person,
        procedures=list(codes), rests_on=FoundingGrant.RestsOn.VISIT, detail="A visit in December.",
        proved=Proved("sign-in name and password", clock.now()),
    )  # fmt: skip


def watched(scene: Scene, person: Person, code: str, day: date, outcome: str = "met", notes: str = "") -> Observation:
    """An assessment by the supervisor, by real work."""
    at = datetime(day.year, day.month, day.day, 10, tzinfo=UTC)
    seen = Observation(
        id=uuid4(), site=scene.cast.lane, happened_on=day, performance=uuid4(), version=scene.versions[code], person=person,
        observer=scene.cast.supervisor.person, purpose="assessment", method="real", started_at=at, finished_at=at,
        marks=[{"step": "s1", "mark": "alone"}, {"step": "s2", "mark": "alone"}], outcome=outcome, notes=notes,
    )  # fmt: skip
    return record(seen, by=scene.cast.supervisor.person)
