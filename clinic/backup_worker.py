"""The night's copy of the register, looked for by a thread of `serve`. Several hosts may run it: a shared place gets one."""

import logging

from clinic.actions.backup import back_up_if_due
from clinic.keeping.places import NotKept

PAUSE = 600.0  # seconds between two looks
log = logging.getLogger(__name__)


def look() -> None:
    """One look. A copy that could not be made is recorded and logged, and tried again at the next."""
    try:
        back_up_if_due()
    except NotKept as wrong:
        log.error("%s", wrong)
