"""From one database to the other, SQLite to PostgreSQL or back: row by row as they are stored, every microsecond kept.

The rows go through the ORM's raw door, which computes nothing anew. At the end the moved register is proved like a restored
one: every check, and the heads of the register that it came from.
"""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import ExitStack
from itertools import islice
from pathlib import Path
from typing import Any, TypeVar

from django.apps import apps
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import connection, models, transaction

from clinic import checkpoints
from clinic.keeping.places import (
    OWN,
    POSTGRESQL,
    NotKept,
    emptied,
    engine_of,
    refuse_if_taken,
    register_at,
    register_beside,
)
from clinic.keeping.restoring import KnownHead, RestoreProof, Say, proved, staged_for
from clinic.models import SealShape, Site

T = TypeVar("T")
BATCH = 500


def move(to: dict[str, Any], *, say: Say = print) -> RestoreProof:
    """Copy this register into an empty database and prove it there. Nothing here changes, and nothing is recorded meanwhile.
    NotKept where that place is not empty or what stands there does not hold; then it is as empty as before."""
    refuse_if_taken(to)
    with ExitStack() as then, transaction.atomic():
        hold_writers()
        staged = staged_for(to, then)
        try:
            counts = filled(staged, say)
            known = [KnownHead(f"the log of {site}", site.code, checkpoints.head(site), True) for site in sites()]
            say("Checking every seal …")
            with register_at(staged):
                seals = proved(known)
        except Exception:
            if engine_of(staged) == POSTGRESQL:
                emptied(staged)
            raise
        if engine_of(staged) != POSTGRESQL:
            Path(staged["NAME"]).chmod(0o600)
            Path(staged["NAME"]).replace(to["NAME"])
    say(f"{sum(counts.values()):,} rows of {len(counts)} tables moved.")
    return RestoreProof(seals, len(known), {})


def sites() -> Iterable[Site]:
    return Site.objects.select_related("organisation").filter(last_position__gt=0).order_by("pk")


def hold_writers() -> None:
    """Whoever records waits until the move is over, so that no fact is left behind. SQLite's transaction does it by itself."""
    if connection.vendor == POSTGRESQL:
        with connection.cursor() as cursor:
            cursor.execute(f'LOCK TABLE "{Site._meta.db_table}" IN EXCLUSIVE MODE')


def filled(staged: dict[str, Any], say: Say) -> dict[str, int]:
    """Make the tables there and fill them. Returns how many rows each has."""
    say("Making the tables …")
    with register_beside(staged):
        call_command("migrate", verbosity=0, run_syncdb=True)
        with transaction.atomic():
            clear()
            counts = {model._meta.db_table: copied(model) for model in every_table()}
            with connection.cursor() as cursor:
                for statement in connection.ops.sequence_reset_sql(no_style(), every_table()):
                    cursor.execute(statement)
    return counts


def every_table() -> list[type[models.Model]]:
    return [model for model in apps.get_models(include_auto_created=True) if model._meta.managed]


def clear() -> None:
    """Rows that new tables begin with are replaced by the register's own; what seals cover is the same in both."""
    for model in every_table():
        if model is not SealShape and model._base_manager.exists():
            model._base_manager.all()._raw_delete("default")  # type: ignore[attr-defined]


def copied(model: type[models.Model]) -> int:
    """Every row of the table as it is stored. Returns how many."""
    fields = [field for field in model._meta.local_concrete_fields if not field.generated]
    there = set(model._base_manager.values_list("pk", flat=True)) if model is SealShape else set()
    rows = (row for row in model._base_manager.using(OWN).iterator(chunk_size=BATCH) if row.pk not in there)
    count = len(there)
    for batch in batches(rows, connection.ops.bulk_batch_size(fields, [None] * BATCH)):
        model._base_manager._insert(batch, fields=fields, using="default", raw=True)  # type: ignore[attr-defined]
        count += len(batch)
    here = model._base_manager.using(OWN).count()
    if here != count:
        raise NotKept(f"{model._meta.db_table} has {here} rows here and {count} there.")
    return count


def batches(rows: Iterable[T], size: int) -> Iterator[Sequence[T]]:
    left = iter(rows)
    while batch := list(islice(left, max(size, 1))):
        yield batch
