"""Which six digits anybody would try first (row A-06: at least six, at most ten tries)."""

from collections.abc import Iterable
from datetime import date
from itertools import pairwise

LENGTH = 6
TRIES_A_DAY = 5  # our own choice: wrong tries from one proof of the password to the next
TRIES_IN_A_ROW = 10  # the limit of NIST SP 800-63B-4 for a PIN, after which another is chosen
WAYS_TO_WRITE = ("%d%m%y", "%m%d%y", "%y%m%d", "%Y%m", "%m%Y")


def is_pin(typed: str) -> bool:
    """Whether it can only be meant as a PIN: a password has fifteen characters or more."""
    return len(typed) == LENGTH and typed.isascii() and typed.isdigit()


def why_too_easy(digits: str, days: Iterable[date] = (), numbers: Iterable[str] = ()) -> str:
    """What makes it easy to guess, in words; empty where nothing does. `days` and `numbers`: those that the register knows of
    the person, such as the first day of work and the staff number."""
    steps = {(int(after) - int(before)) % 10 for before, after in pairwise(digits)}
    if steps == {0}:
        return "It is one digit six times."
    if steps in ({1}, {9}):
        return "It counts up or down."
    if any(digits == digits[:size] * (LENGTH // size) for size in (2, 3)):
        return "It repeats itself."
    if any(digits == day.strftime(way) for day in days for way in WAYS_TO_WRITE):
        return "It is a day that stands in your record."
    if any(digits in each for each in numbers):
        return "It stands in your name or number here."
    return ""
