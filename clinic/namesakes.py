"""Two people of one name. Pages and papers print the staff number beside it, so that no line leads to the other person."""

from collections.abc import Iterator

from clinic.models import Organisation, Person
from clinic.record import Refusal

NAMED = ("given_name", "family_name", "staff_number")
SAYS = "Somebody else of this practice is called {}."
SUPPLY = "Write the staff number, which pages and papers then print beside the name."


def namesakes_of(person: Person) -> list[Person]:
    """Everybody else of the organisation who is called so, at work or not."""
    return list(Person.objects.called(person.organisation, person.whole_name).exclude(pk=person.pk))


def against_name(person: Person) -> Refusal | None:
    """Why the person cannot be entered or renamed so: nothing would tell the two apart."""
    if person.staff_number or not namesakes_of(person):
        return None
    return Refusal(SAYS.format(person.whole_name), SUPPLY, "staff_number")


def one_at_a_time(organisation: Organisation) -> None:
    """Until the transaction ends, nobody else of the organisation is entered or renamed: two at once would not see each
    other."""
    Organisation.objects.select_for_update(no_key=True).get(pk=organisation.pk)


def tell_apart(organisation: Organisation, *names: str) -> None:
    """Works out anew who of these names has a namesake."""
    for name in names:
        people = list(Person.objects.called(organisation, name))
        for person in people:
            if person.has_namesake != (len(people) > 1):
                person.has_namesake = not person.has_namesake
                person.save(update_fields=["has_namesake"])


def told_wrongly() -> Iterator[Person]:
    """Whose column says otherwise than the names of all people."""
    counts: dict[tuple[int, int, str], int] = {}
    people = list(Person.objects.select_related("organisation"))
    for person in people:
        counts[called(person)] = counts.get(called(person), 0) + 1
    yield from (person for person in people if person.has_namesake != (counts[called(person)] > 1))


def called(person: Person) -> tuple[int, int, str]:
    """The same for all whom `clinic.rules.words.same_name` takes for namesakes."""
    return person.organisation_id, len(person.whole_name), person.whole_name.lower()
