"""People as a file or a table names them: by staff number, or by the whole name where one person has it."""

from collections.abc import Sequence

from clinic.models import Person
from clinic.record import Refusal, Refused


class NamedPeople:
    """Of some people, who is meant. `column`: of the cell that names them."""

    def __init__(self, people: Sequence[Person], column: str) -> None:
        self.people, self.column = people, column

    def all_of(self, words: str) -> list[Person]:
        said = words.strip().lower()
        return [each for each in self.people if said and said in (each.staff_number.lower(), each.whole_name.lower())]

    def find(self, words: str) -> Person | None:
        found = self.all_of(words)
        return found[0] if len(found) == 1 else None

    def named(self, words: str) -> Person:
        """Refused where it is nobody, or more than one."""
        found = self.all_of(words)
        if len(found) == 1:
            return found[0]
        says = f"{'More than one person' if found else 'Nobody'} here is called {words}."
        raise Refused(Refusal(says, "Write the staff number; whoever is new is entered first.", self.column))

    def key(self, words: str) -> str:
        """The same for every way to name one person."""
        person = self.find(words)
        return str(person.pk) if person else words.strip().lower()

    def called(self, person: Person) -> str:
        """The whole name; where several have it, the staff number."""
        return person.whole_name if len(self.all_of(person.whole_name)) == 1 else person.staff_number
