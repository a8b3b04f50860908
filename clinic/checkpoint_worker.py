"""A thread of `serve` that gives checkpoints out when they are due. Several hosts may run it: each checkpoint goes out once."""

import logging
import threading

from django.db import DatabaseError, close_old_connections

from clinic.actions.checkpoints import give_out_what_is_due

PAUSE = 1800.0  # seconds between two looks
log = logging.getLogger(__name__)


def look() -> None:
    """One look. A database that does not answer is asked again at the next."""
    try:
        give_out_what_is_due()
    except DatabaseError:
        log.exception("Checkpoints could not be given out.")


def run(stop: threading.Event) -> None:
    while not stop.is_set():
        close_old_connections()
        look()
        close_old_connections()
        stop.wait(PAUSE)


def in_the_background() -> threading.Event:
    """Returns what stops it."""
    stop = threading.Event()
    threading.Thread(target=run, args=(stop,), name="checkpoints", daemon=True).start()
    return stop
