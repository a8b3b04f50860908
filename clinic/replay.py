"""Part of the check of the seals: every row of reference data is what the changes of the record say, and nothing else.

The changes of a row are told one after the other, and what they come to is held against its table. Named are each column
that says something else, each row that nobody entered, each that is gone, and each change that found the row other than the
change before it had left it.

Within a site changes have the order of its chain. Where a row was changed from several sites, the chains are woven: next comes
the change that goes on from what is said so far, the earlier one where several do.
"""

from collections import defaultdict
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.db import models

from clinic.models import Change, Person, Seal
from clinic.namesakes import told_wrongly
from clinic.reference import REFERENCE, said_of
from clinic.rules.seal import canonical
from clinic.seals import Break

Said = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class RowChange:
    """One change of a row, in the columns that decide."""

    site: int
    position: int
    at: datetime
    said: str
    before: Said
    after: Said


@dataclass(slots=True)
class RowStory:
    """What the changes of one row come to: its columns, or None before it is made and after it is ended."""

    now: dict[str, Any] | None = None
    first: Said = field(default_factory=dict)
    said: str = ""
    wrong: list[str] = field(default_factory=list)

    def fits(self, one: RowChange) -> bool:
        if not one.before:
            return self.now is None or same(one.after, self.first)
        return self.now is not None and all(same(self.now.get(name), was) for name, was in one.before.items())

    def go_on(self, one: RowChange) -> None:
        if not self.fits(one):
            self.wrong.append(f"“{one.said}” found it other than the change before had left it")
        self.said = one.said
        if one.before and not one.after:
            self.now = None
        elif one.before:
            self.now = {**(self.now or {}), **one.after}
        elif self.now is None:  # a site's opening stands in the oldest site's chain too, in the same words
            self.now = dict(one.after)
            self.first = one.after


def replayed() -> Iterator[Break]:
    """Every row of every table of reference data."""
    changes = changes_by_table()
    for model in REFERENCE:
        yield from of_table(model, changes.get(model._meta.label_lower, {}))
    for person in told_wrongly():
        says = f"person {person.pk} (“{person.whole_name}”): whether somebody else has the name is said wrongly"
        yield Break(0, Person._meta.label_lower, str(person.pk), says)


def changes_by_table() -> dict[str, dict[str, list[RowChange]]]:
    """By table and by key of the row. A change that says nothing of deciding columns is left out."""
    deciding = {model._meta.label_lower: columns.deciding for model, columns in REFERENCE.items()}
    places = dict(Seal.objects.filter(kind=Change.fact_kind()).values_list("fact", "position"))
    found: dict[str, dict[str, list[RowChange]]] = defaultdict(lambda: defaultdict(list))
    rows = Change.objects.filter(about__in=deciding).values_list(
        "pk", "site_id", "recorded_at", "about", "about_id", "said", "before", "after"
    )
    for pk, site, at, about, key, said, *sides in rows.iterator():
        before, after = (told_columns(side, deciding[about]) for side in sides)
        if before or after:
            found[about][key].append(RowChange(site, places.get(pk, 0), at, said, before, after))
    return found


def told_columns(side: Any, names: tuple[str, ...]) -> Said:
    return {name: side[name] for name in names if name in side} if isinstance(side, dict) else {}


def of_table(model: type[models.Model], changes: Mapping[str, list[RowChange]]) -> Iterator[Break]:
    # by key: the order of the table may go by way of a row that is not there
    stand = model._base_manager.only(*REFERENCE[model].deciding).order_by("pk")
    rows = {str(row.pk): said_of(row) for row in stand.iterator()}
    for key in [*rows, *(key for key in changes if key not in rows)]:
        story = story_of(changes.get(key, []))
        for says in [*story.wrong, *against(rows.get(key), story, model)]:
            what = f"{model._meta.verbose_name} {key}" + (f" (“{story.said}”)" if story.said else "")
            yield Break(0, model._meta.label_lower, key, f"{what}: {says}")


def story_of(changes: list[RowChange]) -> RowStory:
    """The chains of the sites, each in its order, woven into one."""
    waiting: dict[int, list[RowChange]] = defaultdict(list)
    for one in sorted(changes, key=lambda one: one.position, reverse=True):
        waiting[one.site].append(one)
    story = RowStory()
    while heads := [chain[-1] for chain in waiting.values() if chain]:
        following = min(heads, key=lambda one: (not story.fits(one), one.at))
        story.go_on(waiting[following.site].pop())
    return story


def against(row: Said | None, story: RowStory, model: type[models.Model]) -> Iterator[str]:
    """What the table says otherwise."""
    if row is None:
        if story.now is not None:
            yield "it was entered, nobody ended it, and the row is gone"
    elif story.now is None:
        yield (
            "the row was ended, and stands here again" if story.first else "the row stands here, and nobody entered it"
        )
    else:
        for name, says in row.items():
            if not same(says, story.now.get(name)):
                field = next(each for each in model._meta.concrete_fields if each.attname == name)
                yield f"{field.verbose_name} is {shown(says)}, and its changes say {shown(story.now.get(name))}"


def same(one: Any, other: Any) -> bool:
    """As JSON tells them apart: yes is not 1, empty is not missing."""
    return canonical(one) == canonical(other)


def shown(value: Any) -> str:
    return "nothing" if value is None else f"“{value}”"
