"""The code of a block as its packet prints it: how many characters it has, by the answer of the walk round.

A fixed number of characters guards against one that was not seen: a blank, a printed dash or a point that counts. Common
practice, no source; the maker's instructions win.
"""

import re
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from clinic.rules.words import NUMBERS, counted

FEWEST, MOST = 2, 40
ONE_SHORT = "one short: look for a blank, a printed dash or a point that counts"
SIGNS = {"blank": " \u00a0", "dash": "-–—‐‑−", "point": ".,"}
NUMBER = re.compile(rf"\b(\d+|{'|'.join(NUMBERS[FEWEST:])})\b")


@dataclass(frozen=True, slots=True)
class CodeAsked:
    """`length`: how many characters count. `left_out`: characters that the answer says do not count."""

    length: int
    left_out: str = ""


def code_asked(answer: str) -> CodeAsked | None:
    """What the answer says of the code; None for a plain number, or where it names no length."""
    words = answer.lower()
    found = NUMBER.search(words)
    if "plain number" in words or not found:
        return None
    length = int(found[1]) if found[1].isdigit() else NUMBERS.index(found[1])
    if not FEWEST <= length <= MOST:
        return None
    return CodeAsked(length, "".join(signs for name, signs in SIGNS.items() if is_left_out(name, words)))


def is_left_out(name: str, words: str) -> bool:
    """Whether its part of the answer is "without" the sign, or says that it is "not counted" or does "not count"."""
    part = next((part for part in re.split(r"[,;]| but ", words) if name in part), "")
    without = re.search(rf"\bwithout (?:the )?(?:\w+ (?:and|or) (?:the )?)*{name}", part)
    return bool(without or re.search(r"\bnot count", part))


def counted_in(code: str, asked: CodeAsked) -> int:
    """How many characters of it count; blanks at its ends never do."""
    return sum(letter not in asked.left_out for letter in code.strip())


def wrong_length(code: str, asked: CodeAsked) -> str:
    """Why a code is not of its length, with how many there are; empty where it is."""
    count = counted_in(code, asked)
    if count == asked.length:
        return ""
    said = f"{count} of {counted(asked.length, 'character')}"
    if count == asked.length - 1:
        return f"{said}, {ONE_SHORT}."
    return f"{said}, {'too few' if count < asked.length else 'too many'}: read it again as it is printed."


def plain_number(code: str) -> Decimal | None:
    """The number, where the code is one as it stands; a comma is a point."""
    try:
        number = Decimal(code.strip().replace(",", "."))
    except InvalidOperation:
        return None
    return number if number.is_finite() else None
