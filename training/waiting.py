"""Which stored timelines wait to be stored anew.

What touches more than `AT_ONCE` timelines only marks them, in its own transaction: a version or an authority can reach everybody
of a large practice, and whoever approves it does not sit and wait for minutes. From then on whoever reads the spans of these
people in these procedures gets what the facts say (`training/computed_now.py`), until the worker has stored them
(`training/storing.py`).
"""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from datetime import datetime
from typing import Any

from clinic import clock
from clinic.models import Organisation
from clinic.prepared import Keys, Prepared
from training.models import SpansWaiting
from training.models.read_through import as_stored

AT_ONCE = 500
"""Person × procedure. So many are written in about a second, and what a practice of thirty people approves comes to fewer."""

ANY = Prepared(lambda: SpansWaiting.objects.order_by().values_list("pk")[:1])
_known: ContextVar[dict[str, bool] | None] = ContextVar("whether anything waits", default=None)


def anything_waits() -> bool:
    """Most often nothing does, and then nothing more is asked."""
    known = _known.get()
    if known is None:
        return any(ANY.rows())
    if "waits" not in known:
        known["waits"] = any(ANY.rows())
    return known["waits"]


@contextmanager
def asked_once() -> Iterator[None]:
    """Inside the block it is asked once: what others mark meanwhile came after it. What it then stores is marked, too, so that
    the worker puts it right."""
    token = _known.set({})
    try:
        yield
    finally:
        _known.reset(token)


def mark(touched: Mapping[Any, set[str]]) -> None:
    """These wait from now on."""
    if (known := _known.get()) is not None:
        known["waits"] = True
    now = clock.now()
    SpansWaiting.objects.bulk_create(
        (SpansWaiting(person_id=person, codes=sorted(codes), since=now) for person, codes in touched.items() if codes),
        batch_size=1000,
    )


def waiting_of(people: Any) -> dict[Any, set[str]]:
    """By person, the codes of the procedures that wait. Nothing is there of whom nothing waits."""
    found: dict[Any, set[str]] = {}
    for person, codes in SpansWaiting.objects.filter(person__in=people).values_list("person", "codes"):
        found.setdefault(person, set()).update(codes)
    return found


def wait_in(organisation: Organisation) -> bool:
    return SpansWaiting.objects.filter(person__organisation=organisation).exists()


class PreparedSpans(Prepared):
    """A question to the stored spans. While some wait it is put together each time, with what is computed in their place."""

    def rows(self, known_by: datetime | None = None, **lists: Keys) -> Iterator[tuple[Any, ...]]:
        if anything_waits():
            return iter(self.query(**{name: None if keys is None else list(keys) for name, keys in lists.items()}))
        with as_stored():
            return super().rows(known_by, **lists)
