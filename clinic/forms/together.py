"""Several tasks logged by one form: each becomes an entry of its own, with its own readings and its own judgement."""

from collections.abc import Sequence
from datetime import date
from typing import Any
from uuid import uuid5

from crispy_forms.layout import Fieldset, Layout
from django import forms

from clinic.forms.base import SubmissionForm, with_button
from clinic.forms.upkeep import LogEntry
from clinic.models import Equipment, Person, Site, UpkeepTask
from clinic.reads.readings import asked_at

SHARED = ("done_by", "pin", "stood_by", "day", "at", "drawn_at", "note", "photo")


class TogetherForm(SubmissionForm):
    """Who, when and the photo are said once. `parts`: the forms of the single entries, bound once this one is valid."""

    def __init__(
        self, site: Site, works: list[tuple[Equipment, UpkeepTask]], me: Person, today: date, by_pin: Sequence[Person], data: Any = None,
        files: Any = None,
    ) -> None:  # fmt: skip
        """`by_pin`: the others whose PIN this device knows; one PIN proves all the entries."""
        super().__init__(data, files)
        self.site, self.works, self.me, self.today = site, works, me, today
        self.asked = [asked_at(site, unit, task) for unit, task in works]
        empty = [self.single(number, by_pin=by_pin) for number in range(len(works))]
        self.parts: list[LogEntry] = []
        for (_, task), one in zip(works, empty, strict=True):
            self.fields[f"{task.code}_left"] = forms.BooleanField(label="Not done this time", required=False)
            self.fields |= {
                f"{task.code}_{name}": each for name, each in one.fields.items() if name.startswith("reading_")
            }
        for one in reversed(empty):  # the first that has one says it, as the work is ordered
            self.fields |= {name: one.fields[name] for name in SHARED if name in one.fields}
            self.initial = {**self.initial, **{name: one.initial[name] for name in SHARED if name in one.initial}}
        self.helper = with_button(self, "Save them all")
        names = [(task, [n for n in self.fields if n.startswith(f"{task.code}_")]) for _, task in works]
        self.helper.layout = Layout(
            "submission", "drawn_at", *(Fieldset(task.title, *each) for task, each in names),
            Fieldset("For all of them", *(name for name in SHARED if name in self.fields and name != "drawn_at")),
        )  # fmt: skip

    def single(self, number: int, data: Any = None, files: Any = None, by_pin: Sequence[Person] = ()) -> LogEntry:
        unit, task = self.works[number]
        return LogEntry(self.site, unit, task, self.asked[number], self.me, self.today, data, files, by_pin=by_pin)

    def clean(self) -> dict[str, Any]:
        values = super().clean() or {}
        done = [n for n, (_, task) in enumerate(self.works) if not values.get(f"{task.code}_left")]
        if not done:
            self.add_error(None, "Nothing was done: leave the page, or take a tick away.")
        if "submission" in values:
            self.parts = [self.bound(number, photo=number == done[0]) for number in done]
            for part in self.parts:
                self.take_over(part)
        return values

    def bound(self, number: int, photo: bool) -> LogEntry:
        """The form of one entry, as if it had been sent alone. The photo belongs to the first."""
        _, task = self.works[number]
        data = {name: self.data.get(name, "") for name in SHARED}
        data |= {"submission": str(uuid5(self.cleaned_data["submission"], task.code))}
        data |= {
            name.removeprefix(f"{task.code}_"): value
            for name, value in self.data.items()
            if name.startswith(f"{task.code}_reading_")
        }
        return self.single(number, data, self.files if photo else None)

    def take_over(self, part: LogEntry) -> None:
        """What is wrong with an entry is said at its field here, once."""
        for name, errors in part.errors.items():
            mine = name if name in SHARED else f"{part.task.code}_{name}"
            for error in errors:
                where = mine if mine in self.fields else None
                if error not in self.errors.get(where or "__all__", ()):
                    self.add_error(where, error)
