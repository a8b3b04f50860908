"""Threads of `serve` that look again and again whether something is due: one loop, whatever is looked for."""

import logging
import threading
from collections.abc import Callable

from django.db import close_old_connections

log = logging.getLogger(__name__)
DONE = object()  # what a look returns after which there is nothing more to look for


def every(seconds: float, look: Callable[[], object], name: str) -> threading.Event:
    """Look now, and anew after each pause of so many seconds, in a thread of that name. What goes wrong in a look is logged
    and does not end the thread. Returns what stops it."""
    stop = threading.Event()
    threading.Thread(target=go_on, args=(seconds, look, name, stop), name=name, daemon=True).start()
    return stop


def go_on(seconds: float, look: Callable[[], object], name: str, stop: threading.Event) -> None:
    while not stop.is_set():
        close_old_connections()
        try:
            if look() is DONE:
                stop.set()
        except Exception:  # the thread outlives whatever one look met: the next may find it mended
            log.exception("A look of the thread %s failed; the next is in %d seconds.", name, seconds)
        close_old_connections()
        stop.wait(seconds)
