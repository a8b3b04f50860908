"""How much of what is altered behind the register's back does the check find?

    python -m tests.scale.tamper_drill --edits 10000
    DATABASE_URL=postgresql://… python -m tests.scale.tamper_drill --edits 10000

Enters the practice of seven, records some more, keeps a checkpoint of each site outside the database, and then alters the
tables past every refusal and key: one random edit after the other (a column set, a row deleted, a row copied), and the
planned attacks of `tests.scale.attacks`. Each is taken back before the next. An edit counts as found when the check of the
seals says anything. What is not found is printed by table and column.

What cannot be found is named, not counted away: what only a held head shows, and the tables and columns that decide nothing
about the past (`tests/house/test_reference.py` says of each why).
"""

import argparse
import os
import random
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import django

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
    django.setup()

from django.apps import apps
from django.conf import settings
from django.db import DatabaseError, connection, transaction

from clinic import clock
from clinic.checkpoints import checkpoint, write_everywhere
from clinic.models import KeptElsewhere, Seal, Site
from clinic.models.refusal import sealed_models
from clinic.record import record, void
from clinic.reference import REFERENCE
from clinic.seals import REGISTER_PARTS, SITE_PARTS, Break, strays
from tests.cast import Cast, enter_practice
from tests.fixtures import drop_keys, lift_refusals
from tests.reference_rows import enter_the_rest
from tests.scale.attacks import planned
from tests.training.bench import at, set_up
from training.actions.issue import issue_certificate
from training.models import EvidenceSpan, Issue, StandingSpan
from training.models.observations import Attendance, SessionTopic, TaughtSession
from training.papers import draw, keep
from training.timelines import stored_timelines

SEED = 20261128
HEAD = ("last_position", "last_digest", "last_recorded_at", "peaks")  # the columns of a site that the check holds


@dataclass
class Told:
    """What was tried and found, by what it was done to."""

    tried: Counter[str] = field(default_factory=Counter)
    found: Counter[str] = field(default_factory=Counter)
    missed: Counter[str] = field(default_factory=Counter)
    apart: Counter[str] = field(default_factory=Counter)  # edits to tables that are not covered: never counted as found

    def note(self, what: str, where: str, seen: bool) -> None:
        self.tried[what] += 1
        (self.found if seen else self.missed)[what if seen else where] += 1


def covered_tables() -> list[Any]:
    """Facts, their parts, seals and shapes; the stored timelines; what changes say."""
    return [*sealed_models(), StandingSpan, EvidenceSpan, *REFERENCE]


def covered_columns(model: Any) -> list[Any]:
    """Of a row of reference data those that decide, and of a site those of its head too; of any other row all."""
    columns = [each for each in model._meta.concrete_fields if not each.primary_key]
    if model not in REFERENCE:
        return columns
    return [each for each in columns if each.attname in (*REFERENCE[model].deciding, *(HEAD if model is Site else ()))]


def other_tables() -> list[Any]:
    ours = [model for app in ("clinic", "training") for model in apps.get_app_config(app).get_models()]
    return [model for model in ours if model not in covered_tables()]


def found_by_check() -> bool:
    """Whether the whole check says anything; no further than its first word. A database that cannot be read as it stands has
    said it too."""
    try:
        return any(True for _ in breaks())
    except (ValueError, TypeError, KeyError, AttributeError, LookupError):
        return True


def breaks() -> Iterator[Break]:
    """What `check_site` and `check_register` say, one after the other."""
    for site in Site.objects.all():
        for part in SITE_PARTS:
            yield from part(site)
    for of_register in sorted(REGISTER_PARTS, key=lambda part: part in (strays, stored_timelines)):  # the dearest last
        yield from of_register()


class Taken(Exception):
    """Takes the edit back."""


def tried(edit: Callable[[], bool], look: Callable[[], bool] = found_by_check) -> bool | None:
    """Do the edit, look, take it back. None where it changed nothing."""
    seen: bool | None = None
    try:
        with transaction.atomic():
            if edit():
                seen = look()
            raise Taken
    except Taken:
        return seen
    except DatabaseError:
        return None  # the database itself would not have it


def other_value(column: Any, now: Any, dice: random.Random) -> Any:
    """Something else that the column can hold."""
    kind = column.target_field.get_internal_type() if column.is_relation else column.get_internal_type()
    if column.null and now is not None and dice.random() < 0.2:
        return None
    if kind == "UUIDField":
        return uuid4()
    if kind in ("DateField", "DateTimeField"):
        return now + timedelta(days=dice.choice([-400, -1, 1, 30])) if now else clock.now()
    if kind == "TimeField":
        return now.replace(minute=(now.minute + 7) % 60) if now else None
    if kind == "BooleanField":
        return dice.choice([each for each in (True, False) if each != now])
    if kind == "JSONField":
        return dice.choice([{"other": dice.random()}, [], {}, ["x"]])
    if kind == "BinaryField":
        return bytes(now or b"") + b"x"
    if "Integer" in kind or "AutoField" in kind or kind == "DecimalField":
        return (now or 0) + dice.choice([1, 2, 40])
    return f"{now or ''}x"[-(column.max_length or 9999) :] if dice.random() < 0.8 else ""


def random_edit(model: Any, dice: random.Random) -> tuple[str, str, Callable[[], bool]] | None:
    """What is done, to which table and column, and the deed; None for an empty table."""
    count = model._base_manager.count()
    if not count:
        return None
    row = model._base_manager.order_by("pk")[dice.randrange(count)]
    table, way = model._meta.label_lower, dice.choices(["set", "deleted", "copied"], [8, 1, 1])[0]
    if way == "deleted":
        return (
            way,
            f"{table} deleted",
            lambda: bool(model._base_manager.filter(pk=row.pk)._raw_delete("default") or True),
        )
    if way == "copied":
        return way, f"{table} copied", lambda: copy_of(model, row)
    # the number of a stored stretch says nothing: they are written anew with other numbers whenever they differ; neither does
    # that of a seal, which is known by its site and position
    keyed = model not in (StandingSpan, EvidenceSpan, Seal) and dice.random() < 0.1
    column = dice.choice([*covered_columns(model), *([model._meta.pk] if keyed else [])])
    value = other_value(column, getattr(row, column.attname), dice)

    def edit() -> bool:
        # told in SQL's own words, and read back: an edit that says what was there already is none
        before = model._base_manager.values_list(column.attname, flat=True).get(pk=row.pk)
        model._base_manager.filter(pk=row.pk).update(**{column.attname: value})
        key = value if column.primary_key else row.pk
        return model._base_manager.filter(pk=key).values_list(column.attname, flat=True).first() != before

    return way, f"{table}.{column.attname}", edit


def copy_of(model: Any, row: Any) -> bool:
    """The row again under another key, with everything that has to be unique made new."""
    twin = model._base_manager.get(pk=row.pk)
    for column in model._meta.concrete_fields:
        kind = column.get_internal_type()
        if column.primary_key:
            setattr(
                twin,
                column.attname,
                uuid4() if kind == "UUIDField" else f"{row.pk}"[:-1] + "x" if kind == "CharField" else None,
            )
        elif column.unique and column.is_relation:
            setattr(twin, column.attname, None)
        elif column.unique:
            setattr(
                twin, column.attname, uuid4() if kind == "UUIDField" else f"{getattr(row, column.attname)}"[:20] + "x"
            )
        elif column.attname == "position":
            setattr(twin, column.attname, getattr(row, column.attname) + 100_000)
    model._base_manager.bulk_create([twin])
    return True


def at_random(edits: int, told: Told, dice: random.Random) -> None:
    """So many edits that changed something, over every covered table; and a tenth as many to the tables that are not, which
    are counted apart."""
    covered, others = covered_tables(), other_tables()
    done = tries = 0
    while done < edits and tries < edits * 20:
        tries += 1
        made = random_edit(dice.choice(covered), dice)
        seen = tried(made[2]) if made else None
        if made and seen is not None:
            done += 1
            told.note(f"random: {made[0]}", made[1], seen)
    for _ in range(edits // 10):
        model = dice.choice(others)
        if (made := random_edit(model, dice)) and tried(made[2]) is not None:
            told.apart[model._meta.label_lower] += 1


ALONE, HELD = "planned, seen by the database itself", "planned, seen by a held head only"


def by_itself() -> bool:
    """Whether the check finds anything where nobody holds a head."""
    places, settings.CHECKPOINTS_DIR = settings.CHECKPOINTS_DIR, Path("nowhere")
    try:
        return found_by_check()
    finally:
        settings.CHECKPOINTS_DIR = places


def as_planned(told: Told) -> None:
    """Each attack as it is said to be: found by the database itself; or by a held head, and by nothing else."""
    for name, attack, held in planned():
        seen = tried(attack, (lambda: found_by_check() and not by_itself()) if held else by_itself)
        told.note(HELD if held else ALONE, name, bool(seen))
        keep_papers()


def drill(edits: int, *, seed: int = SEED) -> Told:
    """On the practice that stands in the database, inside a transaction that the caller takes back."""
    told = Told()
    lift_refusals()
    drop_keys()
    keep_papers()
    for each in Site.objects.all():
        write_everywhere(each, checkpoint(each))
    if found_by_check():
        raise ValueError("Something is broken before anything was altered.")
    at_random(edits, told, random.Random(seed))
    as_planned(told)
    return told


def keep_papers() -> None:
    for issue in Issue.objects.all():
        keep(issue, draw(issue))


def stage(cast: Cast) -> None:
    """What there is to alter: a sign-off with its observations, a certificate, a binder, papers, a correction, a session."""
    bench = set_up(cast)
    signed = bench.signed()
    with at(7):
        enter_the_rest(cast, bench.procedure, issue_certificate(signed, by=None))
        for what in ("Plan", "Log", "Fit tests"):
            row = KeptElsewhere(site=cast.lane, happened_on=signed.happened_on, what=what, place="shelf", keeper="Bram")
            fact = record(row, by=cast.owner.person)
        void(fact, by=cast.owner.person, reason="Written twice.")
        session = TaughtSession(
            site=cast.lane, happened_on=signed.happened_on, summary="Sharps", trainer_name="Hester Vane"
        )
        parts = [
            SessionTopic(session=session, version=bench.version),
            Attendance(session=session, person=cast.assistant.person, job_title="Dental assistant"),
        ]
        record(session, *parts, by=cast.owner.person)
        record(
            KeptElsewhere(site=cast.lane, happened_on=signed.happened_on, what="Gloves", place="shelf", keeper="Bram"),
            by=None,
        )


def report(told: Told) -> Iterator[str]:
    for what in sorted(told.tried):
        yield f"{what:42} {told.found[what]:>6,} of {told.tried[what]:>6,} found"
    yield f"{'all':42} {sum(told.found.values()):>6,} of {sum(told.tried.values()):>6,} found"
    yield from (f"NOT FOUND: {where} ({count})" for where, count in sorted(told.missed.items()))
    yield f"Tables that the check does not cover ({sum(told.apart.values()):,} random edits tried there, none counted above):"
    yield "  " + ", ".join(sorted(model._meta.label_lower for model in other_tables()))


def main(arguments: list[str] | None = None) -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--edits", type=int, default=10_000)
    given = parser.parse_args(arguments)
    name = connection.creation.create_test_db(verbosity=0, autoclobber=True)
    try:
        with tempfile.TemporaryDirectory() as made, transaction.atomic():
            settings.DOCUMENTS_DIR, settings.CHECKPOINTS_DIR = Path(made, "documents"), Path(made, "checkpoints")
            stage(enter_practice())
            told = drill(given.edits)
            transaction.set_rollback(True)
    finally:
        connection.creation.destroy_test_db(name, verbosity=0)
    print(f"On {connection.vendor}:", *report(told), sep="\n")
    return 1 if told.missed else 0


if __name__ == "__main__":
    sys.exit(main())
