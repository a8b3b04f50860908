"""Events without names: nothing in here says who was hurt, nor who reported it."""

import re

from .content import BinderContent, EventRow
from .sheet import Sheet, short

COLUMNS = (
    ("Day", 20),
    ("What", 22),
    ("Contaminated", 24),
    ("Where", 24),
    ("Unit", 18),
    ("Kind and brand", 28),
    ("How it happened", 38),
    ("What was changed", 34),
)
NOTHING = (
    "No injury, near miss or other event was recorded in the period. That nothing was recorded does not show that nothing "
    "happened."
)
# What tells people of one name apart.
NUMBER = re.compile(r" \([^)]*\)$")
LEFT_OUT = "[name left out]"
SAYS = (
    "No name is printed here. Where few people work, day and work can still tell who it was: show this part only to whoever "
    "has to see it. A sharp that was clean is no contaminated one, and its cut is not counted as one. An injury or its report "
    "changes nobody’s standing; it opens a review of the procedure and the place. Medical detail is not part of this register."
)


def draw(sheet: Sheet, content: BinderContent) -> None:
    sheet.part("events", "Events, without names", SAYS, fresh=False)
    names = pattern(
        [member.name for member in content.roster]
        + [person.name for person in content.people]
        + [held.name for held in content.authorities]
    )
    rows = [_row(event, names) for event in content.events]
    sheet.table(COLUMNS, rows, none=NOTHING)


def pattern(names: list[str]) -> re.Pattern[str] | None:
    """Finds each name, and each part of three letters or more, as a word: rather too many left out than one too few."""
    plain = {NUMBER.sub("", name) for name in names}
    parts = {part.strip(".,") for name in plain for part in (name, *re.split(r"[\s\-]+", name))}
    words = sorted((re.escape(part) for part in parts if len(part) > 2), key=len, reverse=True)
    return re.compile(rf"(?<!\w)(?:{'|'.join(words)})(?!\w)", re.IGNORECASE) if words else None


def without(words: str, names: re.Pattern[str] | None) -> str:
    """The words with every name of the roster left out."""
    return names.sub(LEFT_OUT, words) if names else words


def _row(event: EventRow, names: re.Pattern[str] | None) -> tuple[str, ...]:
    free = (event.area, event.device, event.brand, event.how, event.learnt)
    return (short(event.day), event.kind, event.contaminated or "not asked", *(without(words, names) for words in free))
