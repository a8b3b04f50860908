"""In which order the site at hand writes a day in figures, and which day it is there: for whatever reads what people typed.

Set by the door of each page, and by whoever reads a file for a site, as the time zone is. Outside of both it is day first."""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from clinic import clock
from clinic.models import Site
from clinic.rules.reading_days import Order, Reading, order_of, read_day

_at: ContextVar[tuple[Order, str]] = ContextVar("days as written at", default=(Order.DAY_FIRST, "UTC"))


@contextmanager
def days_of(site: Site) -> Iterator[None]:
    """Inside the block days are read as the site writes them."""
    token = _at.set((order_of(site.language), site.time_zone))
    try:
        yield
    finally:
        _at.reset(token)


def reading(words: str) -> Reading | None:
    """What somebody typed, as it is read at the site at hand."""
    order, zone = _at.get()
    return read_day(words, order, clock.today(zone))
