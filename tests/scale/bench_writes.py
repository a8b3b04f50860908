"""What recording costs beside its rows. Run: python -m tests.scale.bench_writes

The demo practice of eighteen months is made once (`MILLROOM_VAR` may name a place that has it already).
Then acts that people do every day are recorded as their pages do it, each taken back: statements, processor time, and the
ratio to a floor of the same run: the very same rows written by the bare models, each by itself, spans together.
"""

import argparse
import os
import statistics
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import timedelta
from typing import Any
from uuid import uuid4

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "clinic.settings")
os.environ.setdefault("MILLROOM_VAR", tempfile.mkdtemp(prefix="millroom-writes-"))

import django

django.setup()

from django.conf import settings  # noqa: E402 - models load only after the set-up
from django.core.management import call_command  # noqa: E402
from django.db import connection, models, transaction  # noqa: E402
from django.db.models.signals import post_save  # noqa: E402
from django.test.utils import CaptureQueriesContext  # noqa: E402

from clinic import clock  # noqa: E402
from clinic.actions.jobs import EndAsked, JobAsked, end_job, start_job  # noqa: E402
from clinic.actions.upkeep import log_entry  # noqa: E402
from clinic.models import JobStarted, Seal, Site, UpkeepEntry  # noqa: E402
from clinic.rules.jobs import JobOutcome  # noqa: E402
from training.actions.observe import Performance, record_observations  # noqa: E402
from training.actions.proof import Proved  # noqa: E402
from training.actions.signing import sign_off  # noqa: E402
from training.actions.teach import take_check  # noqa: E402
from training.demo.play import make  # noqa: E402
from training.finding_spans import rebuild_waiting  # noqa: E402
from training.models import EvidenceSpan, FindingSpan, Observation, SignOff, StandingSpan, Version  # noqa: E402
from training.reads.ground import ground  # noqa: E402
from training.rules.facts import Mark  # noqa: E402
from training.waiting import asked_once  # noqa: E402

SPANS: tuple[type[models.Model], ...] = (StandingSpan, EvidenceSpan, FindingSpan)
HEAD = ["last_position", "last_digest", "last_recorded_at", "peaks"]
Act = Callable[[], object]


@dataclass(frozen=True, slots=True)
class Written:
    """What one act wrote: rows one by one, the head of its site, and spans in the place of those that are gone."""

    rows: list[models.Model]
    sites: list[Site]
    spans: dict[type[models.Model], list[models.Model]]
    gone: dict[type[models.Model], set[int]]

    def again(self) -> None:
        """The same rows by the bare models."""
        for row in self.rows:
            row.save(force_insert=True)
        for site in self.sites:
            site.save(update_fields=HEAD)
        for model, rows in self.spans.items():
            model._default_manager.filter(pk__in=self.gone[model]).delete()
            model._default_manager.bulk_create(rows)


@contextmanager
def taken_back() -> Iterator[None]:
    with transaction.atomic(), asked_once():  # as every page is
        yield
        transaction.set_rollback(True)


def written_by(act: Act) -> Written:
    """Recorded once with every row noted, and taken back."""
    rows, sites = [], {}

    def note(sender: type[models.Model], instance: Any, created: bool, **_: Any) -> None:
        if created:
            rows.append(instance)
        elif sender is Site:
            sites[instance.pk] = instance

    with taken_back():
        before = {model: keys_of(model) for model in SPANS}
        post_save.connect(note)
        try:
            act()
        finally:
            post_save.disconnect(note)
        after = {model: keys_of(model) for model in SPANS}
        moved = [model for model in SPANS if before[model] != after[model]]
        spans = {model: list(model._default_manager.filter(pk__in=after[model] - before[model])) for model in moved}
    return Written(rows, list(sites.values()), spans, {model: before[model] - after[model] for model in moved})


def keys_of(model: type[models.Model]) -> set[int]:
    return set(model._default_manager.values_list("pk", flat=True))


def statements(act: Act) -> int:
    with taken_back(), CaptureQueriesContext(connection) as asked:
        act()
    return sum(not each["sql"].startswith(("SAVEPOINT", "RELEASE", "BEGIN")) for each in asked.captured_queries)


def milliseconds(rounds: int, *acts: Act) -> list[float]:
    """Processor time of each, the median of the rounds; in turn, so that whatever else the computer does falls on all alike."""
    took: list[list[float]] = [[] for _ in acts]
    for _ in range(rounds):
        for act, times in zip(acts, took, strict=True):
            with taken_back():
                began = time.process_time()
                act()
                times.append((time.process_time() - began) * 1000)
    return [statistics.median(times) for times in took]


@dataclass(frozen=True, slots=True)
class Renewal:
    """A sign-off that stands, and the version that the next one would be of."""

    signed: SignOff
    version: Version
    like: Observation  # an assessment of the same person in the same procedure

    def prepare(self) -> None:
        self.pass_check()
        self.see()

    def pass_check(self) -> object:
        answers = {question.key: question.right for question in self.version.text.questions}
        person = self.signed.person
        return take_check(self.version, person, answers, site=self.signed.site, seed="bench", by=person, id=uuid4())

    def see(self) -> object:
        """One more performance, all of it alone, watched by whoever signed."""
        now, signer = clock.now(), self.signed.signer
        marks = {step.key: Mark.ALONE.value for step in self.version.text.steps}
        seen = Performance(
            uuid4(), self.signed.site, self.signed.person, Observation.Purpose.ASSESSMENT, self.like.method,
            now - timedelta(minutes=2), now, observer=signer, equipment=self.like.equipment, own_word=self.like.own_word,
        )  # fmt: skip
        return record_observations(seen, {self.version: marks}, by=signer)

    def sign(self) -> object:
        signed = self.signed
        return sign_off(
            signed.person, signed.version.procedure, signed.signer, site=signed.site, proved=Proved("password", clock.now()),
            statement="May work alone.", id=uuid4(),
        )  # fmt: skip

    def can_be_signed(self) -> bool:
        signed = self.signed
        today = clock.today(signed.site.time_zone)
        with taken_back():
            self.prepare()
            return not ground(signed.person, signed.version.procedure, signed.signer, signed.site, today).refusals


def renewal() -> Renewal:
    """The newest sign-off that could be renewed today, by whoever signed it, after a check and one performance more."""
    today = clock.now().date()
    rows = SignOff.objects.live().select_related("person", "signer", "site", "version__procedure")
    for signed in rows.order_by("-happened_on", "pk"):
        procedure = signed.version.procedure
        version = Version.objects.live().filter(procedure=procedure, in_force_from__lte=today).order_by("number").last()
        seen = Observation.objects.live().filter(person=signed.person, version__procedure=procedure, outcome="met")
        like = seen.filter(purpose=Observation.Purpose.ASSESSMENT).select_related("equipment").in_order().last()
        if like is None or version is None or {signed.person.last_day, signed.signer.last_day} != {None}:
            continue
        found = Renewal(signed, version, like)
        if found.can_be_signed():
            return found
    raise SystemExit("Nobody of this practice could be signed today.")


def acts() -> dict[str, tuple[Act, Act]]:
    """By name: what must be there before, and what is measured."""
    again, start, runs = (
        renewal(),
        started(),
        list[JobStarted](),
    )  # what an act is about is at hand, as its page has read it
    return {
        "observation": (nothing, again.see),
        "sign-off": (again.prepare, again.sign),
        "upkeep entry": (nothing, upkeep()),
        "job started": (nothing, start),
        "job ended": (lambda: runs.append(start()), lambda: ended(runs[-1])),
    }


def nothing() -> None:
    """No act needs it."""


def upkeep() -> Act:
    """The task that is most often logged, once more."""
    covered = UpkeepEntry.objects.live().exclude(task__covered_by="")
    often = covered.values("task").annotate(times=models.Count("pk")).order_by("-times", "task")[0]["task"]
    like = covered.filter(task=often).select_related("task", "equipment", "done_by", "site").in_order().last()
    today = clock.today(like.site.time_zone)
    return lambda: log_entry(
        like.task,
        like.equipment,
        like.done_by,
        site=like.site,
        by=like.done_by,
        day=today,
        readings=like.readings,
        id=uuid4(),
    )


def started() -> Callable[[], JobStarted]:
    like = JobStarted.objects.live().select_related("equipment", "lot", "done_by", "site").in_order().last()
    asked = JobAsked(like.equipment, like.lot, "26-1001", like.wet, like.factor)
    return lambda: start_job(asked, site=like.site, by=like.done_by, id=uuid4())[0]


def ended(job: JobStarted) -> object:
    return end_job(EndAsked(job, JobOutcome.GOOD), site=job.site, by=job.done_by, id=uuid4())


def report(rounds: int) -> None:
    print(f"{'act':<14} {'statements':>10} {'ms':>8} {'bare ms':>8} {'ratio':>7}   rows")
    for name, (before, act) in acts().items():
        with taken_back():
            before()
            act_of = written_by(act)
            asked, (took, bare) = statements(act), milliseconds(rounds, act, act_of.again)
        counts: dict[str, int] = defaultdict(int)
        for row in (*act_of.rows, *(row for rows in act_of.spans.values() for row in rows)):
            counts[row._meta.model_name or ""] += 1
        said = ", ".join(f"{count} {model}" for model, count in sorted(counts.items()))
        print(f"{name:<14} {asked:>10} {took:>8.1f} {bare:>8.1f} {took / bare:>6.1f}×   {said}")
    print(f"{Seal.objects.count()} facts, on {connection.vendor}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rounds", type=int, default=9)
    rounds = parser.parse_args().rounds
    call_command("migrate", verbosity=0)
    if not Site.objects.exists():
        with transaction.atomic():
            make(settings.DEMO_DIR, settings.LIBRARY_DIR, clock.today("Europe/London"), lambda said: None)
    rebuild_waiting()
    report(rounds)


if __name__ == "__main__":
    main()
