"""How long a session lives and when it locks. A session says when its person signed in, when they last did something, and
whether it is locked; nothing but a right proof unlocks it (row A-08: five minutes idle, twelve hours in all).

While an observation or a sheet is open, marking it sends nothing for a long time. Such a page holds the session: each touch of
it counts as one, up to thirty minutes after it was opened, and not a second more.

What is read here costs no write: an open session is touched at most once a minute, so it may lock up to a minute early,
never late. A clock that was set back opens nothing: such a session locks, or is over.
"""

from typing import Any

from django.conf import settings
from django.contrib.sessions.backends.base import SessionBase
from django.http import HttpRequest

from clinic import clock

SIGNED_IN, LAST_SEEN, LOCKED, HELD = "signed_in_at", "last_seen", "locked", "held_until"
HOLDS_FOR = 30 * 60  # seconds
TOUCH_AFTER = CLOCK_SLACK = 60  # seconds


def begin(sender: Any, request: HttpRequest, **kwargs: Any) -> None:
    """A right proof: the session is open, and both its clocks start."""
    request.session[SIGNED_IN] = request.session[LAST_SEEN] = clock.now().timestamp()
    request.session.pop(LOCKED, None)


def is_over(session: SessionBase) -> bool:
    """Whether it ended: so many seconds after the sign-in, whatever was done in it since."""
    return not -CLOCK_SLACK <= since(session, SIGNED_IN) <= settings.SESSION_COOKIE_AGE


def is_locked(session: SessionBase) -> bool:
    """Whether it was locked, or lay idle for too long by now."""
    return LOCKED in session or not -CLOCK_SLACK <= since(session, LAST_SEEN) <= settings.IDLE_LOCK_SECONDS


def lock(session: SessionBase) -> None:
    if LOCKED not in session:
        session[LOCKED] = True


def touch(session: SessionBase) -> None:
    """Its person did something. Written down at most once a minute."""
    now = clock.now().timestamp()
    session.setdefault(SIGNED_IN, now)
    if LAST_SEEN not in session or since(session, LAST_SEEN) >= TOUCH_AFTER:
        session[LAST_SEEN] = now


def hold(request: Any) -> None:
    """A page of work is opened: touching it counts for the next thirty minutes, though it sends nothing."""
    request.holds = True
    request.session[HELD] = clock.now().timestamp() + HOLDS_FOR


def stay(session: SessionBase) -> None:
    """A page that holds the session was touched. It locks at the end of the hold at the latest; without one, as before."""
    now = clock.now().timestamp()
    touched = min(now, float(session.get(HELD, 0)) - settings.IDLE_LOCK_SECONDS)
    if touched - float(session.get(LAST_SEEN, now)) >= TOUCH_AFTER:
        session[LAST_SEEN] = touched


def seconds_left(session: SessionBase) -> int:
    """Until it locks or ends, if nothing more is done in it."""
    idle = settings.IDLE_LOCK_SECONDS - since(session, LAST_SEEN)
    return max(0, int(min(idle, settings.SESSION_COOKIE_AGE - since(session, SIGNED_IN))))


def since(session: SessionBase, stamp: str) -> float:
    """Seconds since then. A session without the stamp begins with this request: no sign-in of ours leaves it out."""
    now = clock.now().timestamp()
    return now - float(session.get(stamp, now))
