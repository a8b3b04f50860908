"""Whatever a practice does, in whatever order, its rows stay what the changes say: played at random through the actions."""

from datetime import date, timedelta
from random import Random
from typing import Any

import pytest

from clinic import clock
from clinic.actions import days, people, roster
from clinic.actions.equipment import change_unit
from clinic.actions.sites import open_site
from clinic.models import Absence, Account, Appointment, Change, Equipment, Person, RoleHeld, Site
from clinic.record import Refused
from clinic.replay import replayed
from tests.cast import REGISTER_START, Cast
from tests.random_practice import play
from training.actions.requirements import end_requirement, require
from training.models import Procedure, Requirement

pytestmark = pytest.mark.django_db
WORK_DAYS, OFFICE_ACTS = 12, 60
ENDS = date(2025, 6, 30)


class Office:
    """Whoever keeps the roster, doing something to somebody."""

    def __init__(self, cast: Cast, dice: Random) -> None:
        self.cast, self.dice, self.by = cast, dice, cast.owner.person

    def any(self, kind: Any) -> Any:
        return self.dice.choice(list(kind.objects.order_by("pk")))

    def day(self) -> date:
        return REGISTER_START + timedelta(days=self.dice.randint(0, 90))

    def somebody(self) -> Person:
        return self.dice.choice([each for each in Person.objects.order_by("pk") if each != self.by])

    def rename(self) -> None:
        who = self.somebody()
        who.family_name, who.email = self.dice.choice([("Okoro", "o@example.org"), ("Finch", ""), ("Lark", "")])
        people.change_person(who, by=self.by)

    def give(self) -> None:
        who, site = self.somebody(), self.any(Site)
        role = people.job_role(
            self.cast.organisation, self.dice.choice(["Sitter", "sitter", "Porter"]), at=site, by=self.by
        )
        people.give_role(who, site, role, self.day(), by=self.by)

    def end(self) -> None:
        people.end_role(self.any(RoleHeld), self.day(), by=self.by)

    def leave(self) -> None:
        people.leave(self.somebody(), ENDS, by=self.by)

    def week(self) -> None:
        days.set_working_days(
            self.somebody(), self.dice.choice(["1111000", "1000000", ""]), at=self.cast.lane, by=self.by
        )

    def away(self) -> None:
        first = self.day()
        days.plan_absence(self.somebody(), first, first + timedelta(days=3), at=self.cast.lane, by=self.by)

    def not_away(self) -> None:
        if Absence.objects.exists():
            days.drop_absence(self.any(Absence), at=self.any(Site), by=self.by)

    def appoint(self) -> None:
        post = Appointment(person=self.somebody(), post="coordinator", site=self.any(Site), from_day=self.day())
        people.appoint(post, at=self.any(Site), by=self.by)

    def end_post(self) -> None:
        people.end_appointment(self.any(Appointment), ENDS, at=self.any(Site), by=self.by)

    def shut(self) -> None:
        who = self.any(Account)
        self.dice.choice([roster.close_account, roster.open_again, roster.sign_out_everywhere])(
            who, at=self.any(Site), by=self.by
        )

    def unit(self) -> None:
        change_unit(self.any(Equipment), by=self.by, serial=f"M-{self.dice.randint(1, 3)}")

    def need(self) -> None:
        role = people.job_role(self.cast.organisation, "Porter", at=self.cast.lane, by=self.by)
        require(role, self.any(Procedure), self.day(), site=self.cast.lane, at=self.cast.lane, by=self.by)

    def need_no_more(self) -> None:
        end_requirement(self.any(Requirement), ENDS, at=self.cast.lane, by=self.by)

    def open_a_site(self) -> None:
        code = f"site-{self.dice.randint(1, 4)}"
        open_site(
            Site(organisation=self.cast.organisation, name=code, code=code, register_start=REGISTER_START), by=None
        )

    ACTS = (
        rename, rename, give, give, end, leave, week, away, away, not_away, appoint, end_post, shut, unit, need, need_no_more,
        open_a_site,
    )  # fmt: skip


@pytest.mark.parametrize("seed", [3, 8])
def test_a_practice_played_at_random_is_what_its_changes_say(cast: Cast, seed: int) -> None:
    play(cast, seed, WORK_DAYS)
    office, done = Office(cast, Random(seed)), set()
    with clock.standing_at(clock.now() + timedelta(days=1)):
        for _ in range(OFFICE_ACTS):
            act = office.dice.choice(Office.ACTS)
            try:
                act(office)
            except Refused:
                continue
            done.add(act.__name__)
    assert len(done) >= 10 and Change.objects.count() > OFFICE_ACTS
    assert [each.says for each in replayed()] == []
