"""What an app on a phone shows, for tests: made by the library, from the clock of the register."""

import pyotp

from clinic import clock


def code_of(secret: str, steps: int = 0) -> str:
    """The code of this step of thirty seconds, or of one before or after it."""
    return pyotp.TOTP(secret).at(clock.now(), counter_offset=steps)
