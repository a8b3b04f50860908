"""A thread of `serve` that makes the night's copy of the register. Several hosts may run it: a shared place gets one."""

import logging
import threading

from django.db import close_old_connections

from clinic.actions.backup import back_up_if_due
from clinic.keeping.places import NotKept

PAUSE = 600.0  # seconds between two looks
log = logging.getLogger(__name__)


def look() -> None:
    """One look. What goes wrong is recorded and logged, and tried again at the next."""
    try:
        back_up_if_due()
    except NotKept as wrong:
        log.error("%s", wrong)
    except Exception:
        log.exception("The night's copy could not be made.")


def run(stop: threading.Event) -> None:
    while not stop.is_set():
        close_old_connections()
        look()
        close_old_connections()
        stop.wait(PAUSE)


def in_the_background() -> threading.Event:
    """Returns what stops it."""
    stop = threading.Event()
    threading.Thread(target=run, args=(stop,), name="copies", daemon=True).start()
    return stop
