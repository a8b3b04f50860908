"""The messes of real life, each played on its week by the same actions that people use."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, time, timedelta
from typing import Any

from clinic import clock
from clinic.actions.incidents import file_event, file_near_miss, review
from clinic.actions.readings import DoneTask, log_work
from clinic.actions.upkeep import log_entry, return_unit, stop_unit
from clinic.models import Equipment, Incident, Person, UpkeepTask
from clinic.rules.words import in_text
from training.actions import versions
from training.actions.observe import Performance, answer_miss, record_observations
from training.actions.proof import Proved
from training.actions.putting_right import correct_marks
from training.actions.signing import withdraw
from training.demo.bench import NEEDED, Bench, readings_of
from training.demo.careers import Careers, mark_for
from training.demo.scenario import Actor, key_of
from training.demo.setting_up import Cast, version_in_force
from training.demo.upkeep import UpkeepPlayer
from training.models import Draft, Observation, Procedure, Version
from training.rules.facts import Method
from training.rules.texts import policy_to_json

Mess = dict[str, Any]


@dataclass(slots=True)
class Messes:
    cast: Cast
    careers: Careers
    upkeep: UpkeepPlayer
    bench: Bench

    def play(self, mess: Mess, day: date) -> None:
        WHAT[mess["what"]](self, mess, day)

    def watcher(self, mess: Mess, day: date) -> Person:
        """A supervisor who could watch the mess's person that day; the scenario has one."""
        found = self.careers.watcher(self.actor(mess["person"]), mess["procedure"], day, 0)
        assert found is not None, f"nobody can watch {mess['person']} on {day}"
        return found

    def actor(self, key: str) -> Actor:
        return next(a for a in self.cast.scenario.people if a.key == key)

    def performance(self, mess: Mess, day: date, **more: Any) -> Performance:
        """A performance of the mess's person at ten o'clock; `more` says who watched and what was seen."""
        person = self.cast.people[mess["person"]]
        start = self.cast.scenario.instant(day, 10, 2)
        return Performance(
            id=self.cast.scenario.key_of("mess", mess["what"], mess["person"], day), site=person.home_site, person=person,
            purpose=Observation.Purpose.ASSESSMENT, method=Method.REAL, started_at=start,
            finished_at=start + timedelta(minutes=21), **more,
        )  # fmt: skip

    def lapsed_renewal(self, mess: Mess, day: date) -> None:
        """From now on nobody renews it: it lapses on its day."""
        self.careers.progress[mess["person"], mess["procedure"]].lapsed_on_purpose = True

    def critical_miss(self, mess: Mess, day: date) -> None:
        code = mess["procedure"]
        watcher = self.watcher(mess, day)
        version = version_in_force(self.cast, code, day)
        marks = {step.key: mark_for(step, 1) for step in version.text.steps}
        marks[mess["step"]] = "wrong"
        seen = self.performance(mess, day, observer=watcher, notes=mess["step_said"], own_word=Observation.OwnWord.MORE)
        with clock.standing_at(self.cast.scenario.instant(day, 11)):
            [row] = record_observations(seen, {version: marks}, by=watcher)
        with clock.standing_at(self.cast.scenario.instant(day, 15)):
            answer_miss(row, mess["answer"], site=row.site, by=watcher, id=self.cast.scenario.key_of("answer", day))

    def outside_witness(self, mess: Mess, day: date) -> None:
        """A visiting trainer watches the lead assistant, whom nobody else at the site could watch that week."""
        version = version_in_force(self.cast, mess["procedure"], day)
        marks = {step.key: mark_for(step, 0) for step in version.text.steps}
        seen = self.performance(mess, day, witness=self.cast.witness, notes="Watched during the trainer’s visit.")
        with clock.standing_at(self.cast.scenario.instant(day, 11)):
            record_observations(seen, {version: marks}, by=self.cast.people["yusuf"])

    def new_version(self, mess: Mess, day: date) -> None:
        """One step reworded; holders are asked to be observed again within sixty days."""
        procedure = self.cast.procedures[mess["procedure"]]
        with clock.standing_at(self.cast.scenario.instant(day, 9)):
            version = self.approved(self.reworded(procedure, mess, day), day + timedelta(days=7))
        self.cast.versions[procedure.code].append(version)
        for (_, code), state in self.careers.progress.items():
            if code == procedure.code:
                state.watch_again_by(day + timedelta(days=60))

    def reworded(self, procedure: Procedure, mess: Mess, day: date) -> Draft:
        """A draft by the coordinator with one step changed, submitted."""
        by, asks = self.cast.people["delphine"], version_in_force(self.cast, procedure.code, day).asks
        draft = versions.start_draft(procedure, by=by)
        steps = [
            {**step, "do": f"Under a light, {in_text(step['do'])}"} if step["key"] == "s14" else step
            for step in draft.content["steps"]
        ]
        policy = policy_to_json(replace(asks, reobserve_days=60 if mess["reobserve"] else None))
        versions.save_draft(draft, {**draft.content, "steps": steps}, policy, mess["change"], by=by)
        return versions.submit(draft, by=by)

    def approved(self, draft: Draft, first: date) -> Version:
        """By the owner, and held against the maker's newest instructions by the lead assistant."""
        site, code = self.cast.sites["high-street"], draft.procedure.code
        proved = Proved("name and password", clock.now())
        version = versions.approve(
            draft, first, site=site, by=self.cast.owner, proved=proved, id=key_of("version", code, 2)
        )
        versions.check_instructions(
            version, "Instructions for use, coolant filter", "edition 5", site=site, by=self.cast.people["philippa"],
            proved=proved, id=key_of("checked", code, 2),
        )  # fmt: skip
        return version

    def withdrawal(self, mess: Mess, day: date) -> None:
        person, code = self.cast.people[mess["person"]], mess["procedure"]
        by = self.watcher(mess, day)
        with clock.standing_at(self.cast.scenario.instant(day, 14)):
            withdraw(
                person,
                self.cast.procedures[code],
                mess["reason"],
                site=person.home_site,
                by=by,
                proved=Proved("name and password", clock.now()),
                id=self.cast.scenario.key_of("withdraw", day),
            )
        self.careers.progress[mess["person"], code].withdraw()

    def injury(self, mess: Mess, day: date) -> None:
        """Nobody's standing changes, and nothing names the person. The place and the procedure are looked at."""
        by, site = self.cast.people["philippa"], self.cast.sites["high-street"]
        with clock.standing_at(self.cast.scenario.instant(day, 15, 30)):
            event = file_event(
                site, day, by=by, id=self.cast.scenario.key_of("incident", day), happened_at=time(15, 10), kind=Incident.Kind.SHARPS,
                contaminated=mess["contaminated"], item=mess["item"], place=mess["place"], how=mess["how"],
            )  # fmt: skip
        with clock.standing_at(self.cast.scenario.instant(day + timedelta(days=1), 12)):
            review(
                event,
                mess["looked_at"],
                mess["changed"],
                by=self.cast.people["delphine"],
                id=self.cast.scenario.key_of("looked at", day),
            )

    def near_miss(self, mess: Mess, day: date) -> None:
        with clock.standing_at(self.cast.scenario.instant(day, 15, 30)):
            file_near_miss(
                self.cast.sites["high-street"],
                mess["place"],
                mess["how"],
                id=self.cast.scenario.key_of("incident", day),
            )

    def reading_out(self, mess: Mess, day: date) -> None:
        """Out of limits, noted, and good again on a later day: the follow-up opens and closes by itself."""
        unit, task = self.cast.equipment[mess["unit"]], UpkeepTask.objects.get(code=mess["task"])
        by = self.upkeep.somebody(task, unit, day)
        assert by is not None, f"nobody can do {task.code} on {day}"
        for turn, (value, note) in enumerate([(mess["value"], mess["note"]), (mess["again"], "")]):
            when = day + timedelta(days=turn * mess["after"])
            readings = self.upkeep.good_readings(task, when) | {mess["key"]: value}
            with clock.standing_at(self.cast.scenario.instant(when, 12)):
                work = DoneTask(
                    task,
                    unit,
                    unit.site,
                    by,
                    when,
                    None,
                    readings,
                    note,
                    self.cast.scenario.key_of("out", unit.label, when),
                )
                log_work(work, by=by)

    def stop(self, mess: Mess, day: date) -> None:
        """Stopped on a Friday by whoever noticed, returned on Monday by somebody who may, after the check."""
        unit, friday, monday = self.cast.equipment[mess["unit"]], day + timedelta(days=1), day + timedelta(days=4)
        with clock.standing_at(self.cast.scenario.instant(friday, 9, 20)):
            stop_unit(
                unit,
                mess["reason"],
                site=unit.site,
                by=self.cast.people[mess["person"]],
                id=self.cast.scenario.key_of("stop", unit.label, day),
            )
        with clock.standing_at(self.cast.scenario.instant(monday, 8, 10)):
            self.bring_back(unit, mess["check"], self.cast.people[mess["by"]], day)

    def bring_back(self, unit: Equipment, check: str, by: Person, day: date) -> None:
        return_unit(unit, check, site=unit.site, by=by, id=self.cast.scenario.key_of("return", unit.label, day))

    def driver_out(self, mess: Mess, day: date) -> None:
        """Out of limits: out of use at once. It comes back adjusted, verified again, and is returned."""
        row = next(row for row in self.cast.scenario.drivers if row["driver"] == mess["driver"])
        by, later = self.cast.people[mess["person"]], day + timedelta(days=mess["after"])
        self.bench.write_reference(row, day)
        self.bench.verify(row, day, by, [mess["readings"]] * NEEDED)
        self.bench.verify(row, later, by, readings_of(self.cast.scenario, row, later), mess["note"])
        with clock.standing_at(self.cast.scenario.instant(later, 12)):
            self.bring_back(self.cast.equipment[row["driver"]], "Ten readings inside the limit.", by, day)

    def late_entry(self, mess: Mess, day: date) -> None:
        """The filter changed four days late by somebody who does not hold it; once with somebody standing by. The first one
        is written down only two days after it was done."""
        unit = next(u for u in self.cast.equipment.values() if u.kind == "coolant filter")
        task, done_by = UpkeepTask.objects.get(code=mess["task"]), self.cast.people[mess["person"]]
        stands = self.cast.people[mess["stands"]] if "stands" in mess else None
        with clock.standing_at(self.cast.scenario.instant(day + timedelta(days=2), 8)):
            log_entry(
                task, unit, done_by, site=unit.site, by=done_by, day=day, stood_by=stands, readings=self.upkeep.good_readings(task, day),
                note="Written down two days later.", id=self.cast.scenario.key_of("late", day),
            )  # fmt: skip

    def correction(self, mess: Mess, day: date) -> None:
        """A practice run was recorded with one mark wrong; the right one stands in its place, with the reason."""
        code = mess["procedure"]
        watcher = self.watcher(mess, day)
        version = version_in_force(self.cast, code, day)
        marks = {step.key: mark_for(step, 1) for step in version.text.steps}
        first = next(step.key for step in version.text.steps if not step.critical)
        seen = self.performance(mess, day, observer=watcher)
        with clock.standing_at(self.cast.scenario.instant(day, 11)):
            [row] = record_observations(seen, {version: marks | {first: "helped"}}, by=watcher)
        again = replace(
            seen,
            id=self.cast.scenario.key_of("mess again", day),
            corrects=row.pk,
            reason="Marked the step below by mistake.",
        )
        with clock.standing_at(self.cast.scenario.instant(day, 16)):
            correct_marks(again, {version: marks}, by=watcher, proved=Proved("name and password", clock.now()))


WHAT: dict[str, Callable[[Messes, Mess, date], None]] = {
    "lapsed renewal": Messes.lapsed_renewal,
    "critical miss": Messes.critical_miss,
    "outside witness": Messes.outside_witness,
    "new version": Messes.new_version,
    "withdrawal": Messes.withdrawal,
    "injury": Messes.injury,
    "near miss": Messes.near_miss,
    "reading out of limits": Messes.reading_out,
    "stop": Messes.stop,
    "driver out of limits": Messes.driver_out,
    "late entry": Messes.late_entry,
    "late entry with somebody standing by": Messes.late_entry,
    "correction": Messes.correction,
}
