"""The demo practice as it is kept: all of its weeks but the one in which it is looked at, played once and written to a file.

What is kept is only a result: `manage.py demo --keep` makes it anew of the scenario. Taken up, it is placed so that its last
week ends before this one, and then played on by the same actions. Never kept, and always made where it is taken up, are the
seals (by the code that seals, over the rows as they are then), the stored timelines and findings, and what belongs to one
machine: accounts, keys, heads of the log. How long each sign-off lasts is reckoned anew, because months differ in length.
"""

import json
import lzma
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date, timedelta
from functools import cached_property
from hashlib import sha256
from pathlib import Path
from typing import Any, Self
from uuid import UUID

from django.apps import apps

from clinic.keeping.rows import (
    Table,
    columns_of,
    number_on,
    order_of_seals,
    put,
    read,
    seal_anew,
    tell_planner,
    written,
)
from clinic.models import Change, Equipment, Fact, Organisation, OutsideWitness, Person, Seal, SealShape, Site
from clinic.rules.days import plus_months
from training.demo.careers import Careers
from training.demo.placed import Placed
from training.demo.progress import Progress
from training.demo.scenario import Scenario, key_of
from training.demo.setting_up import Cast
from training.models import (
    EvidenceSpan,
    FindingsKept,
    FindingSpan,
    Procedure,
    SignOff,
    SpansWaiting,
    StandingSpan,
    TaughtSession,
    Version,
)
from training.rules.library import Library
from training.spans import rebuild

FILE = "kept.json.xz"  # in the folder of the scenario
PLAYED_TO = date(2025, 1, 6)  # the Monday up to which it was played when it was kept
MADE_AFRESH = (Seal, SealShape, StandingSpan, EvidenceSpan, SpansWaiting, FindingSpan, FindingsKept)
HEAD = {"last_position": 0, "last_digest": "", "last_recorded_at": None, "peaks": ""}
# Columns that hold days among other words. The texts of procedures name days too, those of their sources, which stay.
WORDED: Mapping[Table, Sequence[str]] = {TaughtSession: ("days",), Change: ("said", "before", "after")}
RANDOM = 4  # version of a key that nobody gave
Say = Callable[[str], object]


class DoesNotFit(Exception):
    """The kept practice was made of something else than what is here."""


# ── keeping


def keep(cast: Cast, careers: Careers, folder: Path, library_folder: Path) -> Path:
    """Write what stands in the database to the file. The same play gives the same bytes."""
    order = [[kind, str(key)] for kind, key in order_of_seals()]
    place = {key: n for n, (_, key) in enumerate(order)}
    said = {
        "made_of": made_of(folder, library_folder),
        "start": cast.scenario.start.isoformat(),
        "tables": {table._meta.label_lower: kept_rows(table, place) for table in kept_tables()},
        "order": order,
        "ends": dict(endings()),
        "players": [remembered(cast.scenario, key, state) for key, state in sorted(careers.progress.items())],
    }
    text = json.dumps(with_lasting_keys(said), ensure_ascii=False, separators=(",", ":"))
    file = folder / FILE
    file.write_bytes(lzma.compress(text.encode(), preset=9 | lzma.PRESET_EXTREME))
    return file


def kept_tables() -> list[Table]:
    rooms = (apps.get_app_config(name) for name in ("clinic", "training"))
    tables = [table for room in rooms for table in room.get_models(include_auto_created=True)]
    return [table for table in tables if table not in MADE_AFRESH and table._base_manager.exists()]


def kept_rows(table: Table, place: Mapping[str, int]) -> dict[str, list[Any]]:
    """By column: what every row says in it. Facts stand in the order in which they were recorded."""
    names = list(columns_of(table))
    rows = list(table._base_manager.order_by("pk").values_list("pk", *names))
    if issubclass(table, Fact):
        rows.sort(key=lambda row: place[str(row[0])])
    columns = {name: [written(row[n]) for row in rows] for n, name in enumerate(names, 1)}
    return columns | {name: [value] * len(rows) for name, value in HEAD.items() if table is Site}


def endings() -> Iterator[tuple[str, tuple[str | None, int]]]:
    """Of each sign-off that ends by the calendar: after how many months, and of which earlier one's end it is counted from."""
    before: dict[tuple[UUID, int], SignOff] = {}
    for signed in SignOff.objects.select_related("version").order_by("recorded_at", "pk"):
        of = signed.person_id, signed.version.procedure_id
        if signed.valid_until is not None:
            yield str(signed.pk), ending(signed, before.get(of))
        before[of] = signed


def ending(signed: SignOff, earlier: SignOff | None) -> tuple[str | None, int]:
    starts: list[tuple[str | None, date]] = [(None, signed.happened_on)]
    if earlier and earlier.valid_until:
        starts.insert(0, (str(earlier.pk), earlier.valid_until))
    return next(
        (key, months)
        for key, start in starts
        for months in range(61)
        if plus_months(start, months) == signed.valid_until
    )


def remembered(scenario: Scenario, key: tuple[str, str], state: Progress) -> dict[str, Any]:
    """What the players remember of a person in a procedure, its days counted from the register start."""
    said = asdict(state) | {"days": sorted(state.days)}
    return {"of": key, **{name: counted_days(scenario, value) for name, value in said.items()}}


def counted_days(scenario: Scenario, value: Any) -> Any:
    if isinstance(value, list):
        return [counted_days(scenario, each) for each in value]
    return {"day": (value - scenario.start).days} if isinstance(value, date) else value


def with_lasting_keys(said: dict[str, Any]) -> dict[str, Any]:
    """Facts that nobody gave a key have one by chance; here it is made of their place in the record."""
    place = {key: n for n, (_, key) in enumerate(said["order"])}
    chance = [key for key in place if UUID(key).version == RANDOM]
    lasting = {key: str(key_of("kept", place[key])) for key in chance}
    for columns in said["tables"].values():
        columns["id"] = [lasting.get(key, key) for key in columns["id"]]
    return said | {"order": [[kind, lasting.get(key, key)] for kind, key in said["order"]]}


def made_of(folder: Path, library_folder: Path) -> str:
    """A digest of the scenario and the library, whichever way their lines end."""
    files = [*folder.glob("*.yaml"), *folder.glob("*.jpg"), *library_folder.rglob("*.yaml")]
    return sha256("\n".join(sorted(map(digested, files))).encode()).hexdigest()


def digested(file: Path) -> str:
    said = sha256(file.read_bytes().replace(b"\r\n", b"\n")).hexdigest()
    return f"{file.name} {said}"


# ── taking up


@dataclass(frozen=True)
class Kept:
    """What was read from the file."""

    said: dict[str, Any]

    @classmethod
    def read(cls, folder: Path, library_folder: Path) -> Self:
        """DoesNotFit where the file is missing, or was made of another scenario, another library or other tables."""
        file = folder / FILE
        if not file.exists():
            raise DoesNotFit("There is no kept practice")
        kept = cls(json.loads(lzma.decompress(file.read_bytes())))
        if kept.said["made_of"] != made_of(folder, library_folder):
            raise DoesNotFit("The scenario or the library has changed since the practice was kept")
        if any(sorted(columns) != sorted(columns_of(table)) for table, columns in kept.tables.items()):
            raise DoesNotFit("The tables have changed since the practice was kept")
        return kept

    @cached_property
    def tables(self) -> dict[Table, dict[str, list[Any]]]:
        there = {table._meta.label_lower: table for table in apps.get_models(include_auto_created=True)}
        if gone := self.said["tables"].keys() - there.keys():
            raise DoesNotFit(f"The tables have changed since the practice was kept ({', '.join(sorted(gone))})")
        return {there[label]: columns for label, columns in self.said["tables"].items()}

    def take_up(self, scenario: Scenario, library: Library, say: Say = lambda _: None) -> tuple[Cast, Careers]:
        """Into the empty tables, placed where the scenario is."""
        say("placing the kept weeks")
        placed = Placed(scenario.start - date.fromisoformat(self.said["start"]), scenario.zone)
        for table, columns in self.tables.items():
            put(table, dict(self.placed_columns(table, columns, placed)))
        number_on(list(self.tables))
        tell_planner()
        say("sealing every fact")
        seal_anew((kind, UUID(key)) for kind, key in self.said["order"])
        cast = cast_of(scenario, library)
        tell_planner()
        say("writing the timelines")
        rebuild(cast.people.values())
        return cast, self.careers(cast)

    def placed_columns(
        self, table: Table, columns: dict[str, list[Any]], placed: Placed
    ) -> Iterator[tuple[str, list[Any]]]:
        kinds, worded = columns_of(table), WORDED.get(table, ())
        for name, values in columns.items():
            if name in worded:
                yield name, [placed.words(value) for value in values]
            elif (table, name) == (SignOff, "valid_until"):
                yield name, self.ends(columns, placed)
            else:
                kind = kinds[name]
                moves = kind in ("DateField", "DateTimeField")
                yield name, [placed.value(read(kind, each)) if moves else read(kind, each) for each in values]

    def ends(self, columns: dict[str, list[Any]], placed: Placed) -> list[date | None]:
        """How long each sign-off lasts where it is placed now."""
        days = dict(zip(columns["id"], columns["happened_on"], strict=True))
        found: dict[str, date | None] = {}

        def end(key: str) -> date | None:
            if key in self.said["ends"] and key not in found:
                after, months = self.said["ends"][key]
                start = end(after) if after else date.fromisoformat(days[key]) + placed.by
                found[key] = plus_months(start, months) if start else None
            return found.get(key)

        return [end(key) for key in columns["id"]]

    def careers(self, cast: Cast) -> Careers:
        careers = Careers(cast)
        for row in self.said["players"]:
            said = {name: of_days(cast.scenario, value) for name, value in row.items() if name != "of"}
            person, code = row["of"]
            careers.progress[person, code] = Progress(**said | {"days": set(said["days"])})
        return careers


def of_days(scenario: Scenario, value: Any) -> Any:
    if isinstance(value, list):
        return [of_days(scenario, each) for each in value]
    return scenario.start + timedelta(days=value["day"]) if isinstance(value, dict) else value


def cast_of(scenario: Scenario, library: Library) -> Cast:
    """Everybody and everything, as the rows say; people in the order in which they came."""
    organisation = Organisation.objects.get(name=scenario.organisation)
    cast = Cast(scenario, library, organisation)
    sites = {site.code: site for site in organisation.sites.all()}
    cast.sites = {row["code"]: sites[row["code"]] for row in scenario.sites}
    people = {row.pk: row for row in Person.objects.filter(organisation=organisation).select_related("home_site")}
    for actor in sorted(scenario.people, key=lambda actor: max(actor.week, 0)):
        cast.people[actor.key] = people[key_of("person", actor.key)]
    units = {row.label: row for row in Equipment.objects.filter(site__in=sites.values()).select_related("site")}
    cast.equipment = {row["label"]: units[row["label"]] for row in scenario.equipment}
    cast.witness = OutsideWitness.objects.get(pk=key_of("witness"))
    for procedure in Procedure.objects.of(organisation):
        cast.procedures[procedure.code] = procedure
        cast.versions[procedure.code] = list(Version.objects.filter(procedure=procedure).order_by("number"))
    return cast
