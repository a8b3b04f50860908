"""Who stood by: asked of whoever may not do it alone that day, with whoever could."""

from datetime import date
from typing import TYPE_CHECKING, Any

from clinic.models import Person, Site
from clinic.port import usable_people
from clinic.rules.words import listed, short_day

if TYPE_CHECKING:
    from django.forms import Form
else:
    Form = object


class AsksWhoStoodBy(Form):
    """For a form with a field `stood_by`, of `me` at the `site`, for the procedure of that `code`."""

    site: Site
    me: Person
    today: date
    code: str
    people: dict[str, Person]  # everybody of the site, by the word of the choice
    cleaned_data: dict[str, Any]

    def ask_who_stood_by(self, doing: str, day: date) -> None:
        """An error at the field where they may not do it alone on the day. `doing`: what, such as "mill"."""
        usable = usable_people(self.site.organisation, self.code, day)
        if self.me.pk in usable:
            return
        able = [str(person) for person in self.people.values() if person.pk in usable]
        when = "today" if day == self.today else f"on {short_day(day)}"
        names = f"{listed(able, 'or')} could." if able else "nobody here could."
        self.add_error("stood_by", f"You may not {doing} alone {when}. Say who stood by: {names}")

    @property
    def stood_by_person(self) -> Person | None:
        return self.people.get(self.cleaned_data.get("stood_by", ""))
