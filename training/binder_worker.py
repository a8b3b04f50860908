"""What is made behind the pages: binders, and the stored standing and findings that wait for it.

Binders: one lease row a job, so that a worker that dies loses nothing but time.

A job is claimed by a conditional update: whoever changes the row as it was read has it. Each step of the work moves the lease
on and is what the page shows. A worker that was held up finds that the row is no longer its own and throws its work away.
"""

import logging
import os
import socket
import threading
from collections.abc import Callable
from datetime import timedelta
from functools import partial
from itertools import count
from tempfile import TemporaryFile

from django.db import DatabaseError, close_old_connections, transaction
from django.db.models import Q

from clinic import clock
from clinic.record import Refused
from clinic.rules.words import counted
from training.actions.binder import drawn, gathered, issue_binder
from training.finding_spans import rebuild_waiting
from training.models import BinderJob, Issue, PackPart
from training.packs import write_pack
from training.papers import Differs
from training.proofs import Unproved
from training.storing import store_some

LEASE = timedelta(seconds=60)
PACK_LEASE = timedelta(minutes=10)  # while every seal is checked, nothing is heard of it
PACKS_KEPT = timedelta(days=7)
PIECE = 4_000_000  # bytes of a pack in one row
MOST_ATTEMPTS = 3
PAUSE = 1.0  # seconds between two looks into an empty queue
PATIENCE = 30.0  # seconds until a database that took nothing is asked again
State = BinderJob.State
log = logging.getLogger(__name__)


class Lost(Exception):
    """Another worker has the job by now, or somebody called it off."""


def name_of_this() -> str:
    return f"{socket.gethostname()}:{os.getpid()}:{threading.get_ident()}"[:80]


def claim(worker: str) -> BinderJob | None:
    """The oldest job that waits, or whose worker has not been heard of within its lease."""
    now = clock.now()
    free = Q(state=State.QUEUED) | Q(state=State.RUNNING, lease_until__lt=now)
    for job in BinderJob.objects.filter(free).order_by("requested_at", "pk")[:5]:
        as_read = BinderJob.objects.filter(pk=job.pk, state=job.state, lease_until=job.lease_until, worker=job.worker)
        mine = {"state": State.RUNNING, "lease_until": now + LEASE, "worker": worker, "attempts": job.attempts + 1}
        if as_read.update(**mine):
            return BinderJob.objects.select_related("site__organisation", "requested_by", "pack_of__site").get(
                pk=job.pk
            )
    return None


def heartbeat(job: BinderJob, worker: str) -> Callable[[int, int, str], None]:
    """Moves the lease on and shows how far it is. Raises Lost when the job is no longer this worker's."""

    def tell(done: int, total: int, says: str) -> None:
        row = BinderJob.objects.filter(pk=job.pk, worker=worker, state=State.RUNNING)
        lease = PACK_LEASE if job.pack_of_id else LEASE
        if not row.update(done=done, total=total, says=says[:200], lease_until=clock.now() + lease):
            raise Lost(str(job.pk))

    return tell


def run_one(worker: str | None = None) -> BinderJob | None:
    """Make one binder, if one waits. Returns the job as it ended, None where nothing waited."""
    me = worker or name_of_this()
    job = claim(me)
    if job is None:
        return None
    try:
        pack(job, job.pack_of, me) if job.pack_of else make(job, me)
    except Lost:
        log.warning("Binder job %s was called off, or taken over by another worker.", job.pk)
    except (Refused, ValueError, Differs, Unproved) as refused:
        fail(job, me, str(refused))
    except Exception:
        log.exception("Binder job %s failed.", job.pk)
        fail(job, me, "Something in the register kept it from being made; the log says what. Ask for it again.")
    return BinderJob.objects.get(pk=job.pk)


def refuse_often(job: BinderJob) -> None:
    if job.attempts > MOST_ATTEMPTS:
        remedy = (
            "Look into the log for what stopped it, and ask again." if job.pack_of_id else "Ask for a shorter period."
        )
        raise ValueError(f"It was begun three times and never finished. {remedy}")


def make(job: BinderJob, worker: str) -> Issue:
    refuse_often(job)
    tell = heartbeat(job, worker)
    content, facts = gathered(job, tell)
    pdf = drawn(content, tell)
    with transaction.atomic():
        issue = issue_binder(job, content, facts, pdf)
        row = BinderJob.objects.filter(pk=job.pk, worker=worker, state=State.RUNNING)
        if not row.update(state=State.DONE, done=100, total=100, says="Ready.", issue=issue, lease_until=None):
            raise Lost(str(job.pk))
    return issue


def pack(job: BinderJob, issue: Issue, worker: str) -> None:
    """The evidence of a binder, in pieces; those of the pack before it go when it is whole."""
    refuse_often(job)
    tell, names = heartbeat(job, worker), count(1)
    with TemporaryFile() as out:
        write_pack(issue, out, lambda name: tell(min(99, next(names)), 100, f"Packing {name}."))
        tell(99, 100, "Keeping it.")
        out.seek(0)
        with transaction.atomic():
            PackPart.objects.filter(job__pack_of=issue).delete()
            for number, data in enumerate(iter(partial(out.read, PIECE), b"")):
                PackPart.objects.create(job=job, number=number, data=data)
            row = BinderJob.objects.filter(pk=job.pk, worker=worker, state=State.RUNNING)
            if not row.update(state=State.DONE, done=100, total=100, says="Ready.", lease_until=None):
                raise Lost(str(job.pk))


def drop_old_packs() -> None:
    """Asked before it is done: an empty queue is looked into every second, and whoever takes away holds up who records."""
    old = PackPart.objects.filter(job__requested_at__lt=clock.now() - PACKS_KEPT)
    if old.exists():
        old.delete()


def fail(job: BinderJob, worker: str, says: str) -> None:
    row = BinderJob.objects.filter(pk=job.pk, worker=worker, state=State.RUNNING)
    row.update(state=State.FAILED, says=says[:200], lease_until=None)


def look(say: Callable[[str], object]) -> bool:
    """One look at what waits. Returns whether there was work. Standing comes first, on which findings and binders rest."""
    if people := store_some():
        say(f"Standing of {counted(people, 'person', 'people')}: stored.")
        return True
    for site in rebuild_waiting():
        say(f"Findings of {site}: stored.")
    job = run_one()
    drop_old_packs()
    if job is not None:
        say(f"{job}, {job.first} to {job.last}: {job.get_state_display().lower()}. {job.says}")
    return job is not None


def run(stop: threading.Event, say: Callable[[str], object] = lambda words: None) -> None:
    """Make binders until told to stop."""
    while not stop.is_set():
        close_old_connections()
        try:
            worked = look(say)
        except DatabaseError:
            log.exception("The database takes nothing just now; binders wait.")
            stop.wait(PATIENCE)
        else:
            stop.wait(0 if worked else PAUSE)
    close_old_connections()


def in_the_background() -> threading.Event:
    """A daemon thread for the register on one computer. Returns what stops it."""
    stop = threading.Event()
    threading.Thread(target=run, args=(stop,), name="binders", daemon=True).start()
    return stop
