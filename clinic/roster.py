"""The roster as a file: read with every fault by line and column, planned, and written out again the same.

A line is a person holding a job role from a day. Somebody with two roles has two lines with the same staff number. Who is
here already is known by the staff number, or without one by both names and the e-mail; a line that is here already changes
nothing, so that a file sent twice, or a file written by this register, enters nobody a second time. A job role that is not
there yet is made only where a line says so: "new: Driver".
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date

from django.core.exceptions import ValidationError
from django.core.validators import validate_email

from clinic.csv_rows import CellFault, FileColumn, FileRow, day_in, read_rows, written
from clinic.models import JobRole, Person, RoleHeld, Site
from clinic.rules.letters import SUPPLY, lacks, not_printed
from clinic.rules.titles import unknown_role, without_mark
from clinic.rules.words import counted, short_day
from clinic.site_days import days_of

COLUMNS = (
    FileColumn("given_name", required=True, most=80),
    FileColumn("family_name", required=True, most=80),
    FileColumn("staff_number", most=30),
    FileColumn("email", most=254),
    FileColumn("job_role", required=True, most=80),
    FileColumn("from_day", required=True, is_day=True),
    FileColumn("to_day", is_day=True),
    FileColumn("language", most=20),
)
Key = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RosterEntry:
    """One line of the file as it would be entered. `person`: who is here already. `is_known`: so is the role."""

    line: int
    key: Key
    values: dict[str, str]
    from_day: date
    to_day: date | None
    person: Person | None
    is_known: bool

    @property
    def name(self) -> str:
        return f"{self.values['given_name']} {self.values['family_name']}"

    @property
    def job_role(self) -> str:
        return self.values["job_role"]

    @property
    def says(self) -> str:
        if self.is_known:
            return "here already, nothing changes"
        return "another job role for somebody who is here" if self.person else "new"


@dataclass(frozen=True, slots=True)
class Roster:
    """What a file would do. With one fault it does nothing."""

    entries: list[RosterEntry] = field(default_factory=list)
    faults: list[CellFault] = field(default_factory=list)
    new_titles: list[str] = field(default_factory=list)

    @property
    def people(self) -> int:
        """How many people would be entered."""
        return len({entry.key for entry in self.entries if entry.person is None})

    @property
    def roles(self) -> int:
        return sum(not entry.is_known for entry in self.entries)

    @property
    def known(self) -> int:
        return sum(entry.is_known for entry in self.entries)


@dataclass
class RosterSoFar:
    """Who and what the organisation has, and what the lines read so far add to it."""

    site: Site
    by_number: dict[str, Person]
    by_name: dict[Key, Person]
    held: dict[Key, list[tuple[date, date | None]]]  # (person key, job role) → days
    printed: set[str]  # in small letters
    titles: dict[str, str]  # job roles, by their small letters
    names: dict[Key, str] = field(default_factory=dict)  # of the lines read so far
    keys: dict[str, set[Key]] = field(default_factory=lambda: defaultdict(set))  # of theirs who have a name

    def person(self, row: FileRow) -> Person | None:
        number = row["staff_number"]
        return self.by_number.get(number) if number else self.by_name.get(name_key(row.values))


def read_roster(text: str, site: Site) -> Roster:
    """The plan and every fault. Four queries, whatever the number of lines."""
    with days_of(site):
        rows, faults = read_rows(text, COLUMNS)
        here, wrong_lines = whats_here(site), {fault.line for fault in faults}
        rows, announced = without_marks(rows)
        entries: list[RosterEntry] = []
        for row in rows:
            found = [] if row.line in wrong_lines else list(meaning_faults(row, here, announced))
            faults += found
            if not found and row.line not in wrong_lines:
                entries.append(entry_of(row, here))
    fresh = {entry.job_role.lower(): entry.job_role for entry in entries if entry.job_role.lower() not in here.titles}
    return Roster(entries, sorted(faults), sorted(fresh.values()))


def without_marks(rows: Iterable[FileRow]) -> tuple[list[FileRow], set[str]]:
    """The lines with plain titles, and the titles in small letters that any of them marks as new."""
    plain, announced = [], set()
    for row in rows:
        title, is_new = without_mark(row["job_role"])
        plain.append(FileRow(row.line, row.values | {"job_role": title}))
        announced |= {title.lower()} if is_new else set()
    return plain, announced


def whats_here(site: Site) -> RosterSoFar:
    people = list(Person.objects.filter(organisation=site.organisation))
    roles = JobRole.objects.filter(organisation=site.organisation)
    held: dict[Key, list[tuple[date, date | None]]] = defaultdict(list)
    for row in RoleHeld.objects.filter(site=site).select_related("person", "job_role"):
        held[(*key_of(row.person), row.job_role.title.lower())].append((row.from_day, row.to_day))
    return RosterSoFar(
        site=site,
        by_number={p.staff_number: p for p in people if p.staff_number},
        by_name={key_of(p): p for p in people if not p.staff_number},
        held=held,
        printed={person.whole_name.lower() for person in people},
        titles={title.lower(): title for title in roles.values_list("title", flat=True)},
    )


def key_of(person: Person) -> Key:
    """What tells people apart in a file."""
    return (person.staff_number,) if person.staff_number else name_key(columns_of(person))


def name_key(values: dict[str, str]) -> Key:
    return (values["given_name"].lower(), values["family_name"].lower(), values["email"].lower())


def columns_of(person: Person) -> dict[str, str]:
    return {name: getattr(person, name) for name in ("given_name", "family_name", "staff_number", "email", "language")}


def row_key(row: FileRow) -> Key:
    return (row["staff_number"],) if row["staff_number"] else name_key(row.values)


def meaning_faults(row: FileRow, here: RosterSoFar, announced: set[str]) -> Iterator[CellFault]:
    """What is wrong with a line whose shape is right. Days are asked only of somebody who is surely known."""
    if not is_email(row["email"]):
        yield CellFault(
            row.line, "email", f"“{row['email']}” is not an e-mail address.", "Correct it, or leave it empty."
        )
    for column in ("given_name", "family_name", "staff_number", "job_role"):
        if missing := not_printed(row[column]):
            yield CellFault(row.line, column, lacks(missing), SUPPLY)
    if not row["job_role"]:
        yield CellFault(row.line, "job_role", "No title stands after “new:”.", "Write it, such as new: Driver.")
    elif row["job_role"].lower() not in here.titles | dict.fromkeys(announced):
        supply = f"Write one that is there or, to make a new one, “new: {row['job_role']}” in one of its lines."
        yield CellFault(row.line, "job_role", unknown_role(row["job_role"], here.titles.values()), supply)
    who = list(identity_faults(row, here))
    yield from who or day_faults(row, here)


def identity_faults(row: FileRow, here: RosterSoFar) -> Iterator[CellFault]:
    """One number, one person; and no two people whom nothing tells apart."""
    person, other = here.person(row), here.names.get(row_key(row))
    if person and not same_name(person.whole_name, row):
        says = f"{row['staff_number']} is the staff number of {person.printed_name}."
        yield CellFault(row.line, "staff_number", says, "Give the right number, or the right name.")
    if person is None and not row["staff_number"] and is_namesake(row, here):
        supply = "Give the staff number, so that it is clear who is meant."
        yield CellFault(row.line, "staff_number", "Somebody of that name is here already.", supply)
    if person is None and other and not same_name(other, row):
        says = f"This is the number of {other} higher up in the file."
        yield CellFault(row.line, "staff_number", says, "Give each person a number of their own.")


def day_faults(row: FileRow, here: RosterSoFar) -> Iterator[CellFault]:
    first, last, person = day_in(row["from_day"]) or date.max, day_in(row["to_day"]), here.person(row)
    if last and last < first:
        yield CellFault(row.line, "to_day", "The role ends before it starts.", "Give a day on or after from_day.")
    if person and person.last_day and first > person.last_day:
        says = f"{person.printed_name} left on {short_day(person.last_day)}."
        yield CellFault(row.line, "from_day", says, "Take the last day back on the person’s page first.")
    elif overlaps(row, here, first, last):
        says = f"{row['job_role']} is held in those days already, from another day."
        yield CellFault(row.line, "from_day", says, "End that one first, or take the line out.")


def is_namesake(row: FileRow, here: RosterSoFar) -> bool:
    """Somebody else, here or higher up in the file, has the same name."""
    name = name_of(row).lower()
    return name in here.printed or bool(here.keys[name] - {row_key(row)})


def is_email(value: str) -> bool:
    try:
        validate_email(value) if value else None
    except ValidationError:
        return False
    return True


def same_name(printed: str, row: FileRow) -> bool:
    return printed.lower() == name_of(row).lower()


def name_of(row: FileRow) -> str:
    return f"{row['given_name']} {row['family_name']}"


def held_days(row: FileRow, here: RosterSoFar) -> list[tuple[date, date | None]]:
    return here.held[(*row_key(row), row["job_role"].lower())]


def overlaps(row: FileRow, here: RosterSoFar, first: date, last: date | None) -> bool:
    """Held in some of these days, but not exactly from this day to that one."""
    days = [each for each in held_days(row, here) if each != (first, last)]
    return any(start <= (last or date.max) and first <= (end or date.max) for start, end in days)


def entry_of(row: FileRow, here: RosterSoFar) -> RosterEntry:
    first, last = day_in(row["from_day"]) or date.max, day_in(row["to_day"])
    days, key = held_days(row, here), row_key(row)
    is_known = (first, last) in days
    if not is_known:
        days.append((first, last))
    here.keys[here.names.setdefault(key, name_of(row)).lower()].add(key)
    return RosterEntry(row.line, key, row.values, first, last, here.person(row), is_known)


def written_roster(site: Site) -> str:
    """The file of everybody who holds or held a job role at the site, as `read_roster` takes it."""
    held = RoleHeld.objects.filter(site=site).select_related("person", "job_role")
    return written(
        COLUMNS, lines_of(held.order_by("person__family_name", "person__given_name", "person_id", "from_day", "pk"))
    )


def lines_of(held: Iterable[RoleHeld]) -> Iterator[dict[str, str]]:
    for row in held:
        last = row.to_day.isoformat() if row.to_day else ""
        days = {"from_day": row.from_day.isoformat(), "to_day": last}
        yield columns_of(row.person) | {"job_role": row.job_role.title} | days


def entered_words(people: int, roles: int, known: int) -> str:
    """What a file of the roster adds, in words: "1 person and 2 job roles; 3 lines were here already"."""
    new = f"{counted(people, 'person', 'people')} and {counted(roles, 'job role')}"
    return f"{new}; {counted(known, 'line was', 'lines were')} here already"
