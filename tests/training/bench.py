"""A procedure ready to be watched at Millbrook Lane: two supervisors by founding grant, three steps, two assessments asked."""

from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any
from uuid import uuid4

from clinic import clock
from clinic.changes import make
from clinic.record import record
from tests.cast import PASSWORD, Cast, Member
from training.actions.grants import found
from training.actions.observe import Performance, record_observations
from training.actions.signing import Proved, sign_off
from training.models import InstructionsCheck, Observation, Procedure, SignOff, Version
from training.reads.ground import sign_page
from training.rules.facts import Policy
from training.rules.texts import Content, Step, content_to_json, policy_to_json

START = date(2025, 2, 3)
STEPS = (
    Step("s1", "Wait for {stopped sign}.", critical=True),
    Step("s2", "Lift them with tweezers.", critical=True, when="chips lie there", caution="Never with fingers."),
    Step("s3", "Wipe the floor of the chamber."),
)
ALL_RIGHT = {"s1": "alone", "s2": "asked", "s3": "alone"}
MISSED = ALL_RIGHT | {"s1": "prompted"}


def at(day: int, hour: int = 12) -> Any:
    """That day of February 2025, by the register's clock."""
    return clock.standing_at(datetime(2025, 2, day, hour, tzinfo=UTC))


@dataclass(slots=True)
class Bench:
    cast: Cast
    procedure: Procedure
    version: Version

    def anew(self) -> "Bench":
        """The same, with rows that no test has touched."""
        return Bench(self.cast, Procedure.objects.get(pk=self.procedure.pk), Version.objects.get(pk=self.version.pk))

    def seen(self, day: int, marks: dict[str, str] = ALL_RIGHT, **more: Any) -> Observation:
        """An assessment of the assistant by real work, on that day of February."""
        known = {"observer": self.cast.supervisor.person, "purpose": "assessment", "method": "real"} | more
        by = known.pop("by", known["observer"] or self.cast.supervisor.person)
        start = datetime(2025, 2, day, 10, tzinfo=UTC)
        performance = Performance(
            id=known.pop("id", uuid4()), site=self.cast.lane, person=known.pop("person", self.cast.assistant.person),
            started_at=start, finished_at=start.replace(minute=20), equipment=self.cast.unit, **known,
        )  # fmt: skip
        with at(day):
            return record_observations(performance, {self.version: marks}, by=by)[0]

    def signed(self, day: int = 6, signer: Member | None = None) -> SignOff:
        """The assistant signed off, after two assessments on two days."""
        signer = signer or self.cast.supervisor
        self.seen(day - 2)
        self.seen(day - 1)
        with at(day):
            who = self.cast.assistant.person
            page = sign_page(who, self.procedure, signer.person, self.cast.lane, clock.today("Europe/London"))
            return sign_off(
                who, self.procedure, signer.person, site=self.cast.lane, proved=proved(), statement=page.statement
            )


def set_up(cast: Cast, **policy: Any) -> Bench:
    """Facts of 3 February 2025: the version, its check against the maker's instructions, two founding grants."""
    asks = Policy(**{"needed": 2, "distinct_days": 2, "check_asked": False, "idle_days": 183} | policy)
    with at(3, 8):
        row = Procedure(organisation=cast.organisation, code="P06", title="Chamber cleaning", area="cleaning")
        row.equipment_kind, row.returns = "milling unit", ["milling unit"]
        procedure = make(row, site=cast.lane, by=None, said="P06 entered")
        version = approved(cast, procedure, asks)
        for member in (cast.supervisor, cast.second):
            found(
                member.person, cast.lane, START, date(2025, 12, 31), by=cast.owner.person, procedures=["P06"],
                rests_on="visit", detail="The trainer’s visit.", proved=proved(),
            )  # fmt: skip
    return Bench(cast, procedure, version)


def approved(cast: Cast, procedure: Procedure, asks: Policy) -> Version:
    content = content_to_json(Content(purpose="Clear chips without cuts.", steps=STEPS))
    version = Version(
        site=cast.lane, happened_on=START, procedure=procedure, number=1, in_force_from=START, content=content,
        policy=policy_to_json(asks), critical_when=["s2"],
    )  # fmt: skip
    record(version, by=cast.owner.person)
    check = InstructionsCheck(
        site=cast.lane,
        happened_on=START,
        version=version,
        title="Unit handbook",
        edition="3",
        checked_by=cast.owner.person,
    )
    record(check, by=cast.owner.person)
    return version


def proof(member: Member, password: str = PASSWORD) -> dict[str, str]:
    return {"sign_in_name": member.account.sign_in_name, "password": password}


def proved() -> Proved:
    return Proved("sign-in name and password", clock.now())
