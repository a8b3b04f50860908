"""Job roles are chosen: one that nobody made on purpose is refused, with the nearest there is."""

from collections.abc import Iterable
from difflib import get_close_matches

NEW = "new:"  # before a title in a file: this one is made on purpose
LIKE = 0.6  # how alike two titles are, by difflib's ratio, before one may be meant by the other: its own default


def nearest(said: str, titles: Iterable[str]) -> str:
    """The title that is most like what was said, in whatever capitals; nothing where none is like it."""
    by_small = {title.lower(): title for title in titles}
    found = get_close_matches(said.lower(), list(by_small), n=1, cutoff=LIKE)
    return by_small[found[0]] if found else ""


def unknown_role(said: str, titles: Iterable[str]) -> str:
    """There is no job role “asistant” here; the nearest is “Dental assistant”."""
    near = nearest(said, titles)
    return f"There is no job role “{said}” here" + (f"; the nearest is “{near}”." if near else ".")


def without_mark(said: str) -> tuple[str, bool]:
    """The title in a cell of a file, and whether it is marked as a new one."""
    is_new = said.lower().startswith(NEW)
    return (said[len(NEW) :].strip() if is_new else said), is_new
