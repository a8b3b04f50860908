"""One-time codes against the values that RFC 6238 (Appendix B, SHA-1) and RFC 4226 (Appendix D) print.

The RFC prints eight digits; codes here have six, and those are the last six of eight: both are one number, modulo a power of ten
(RFC 4226, 5.3).
"""

import base64
from datetime import UTC, datetime

import pytest

from clinic import clock
from clinic.factors import new_secret, step_of

SEED = base64.b32encode(b"12345678901234567890").decode()
TOTP = [
    (59, "94287082"),
    (1111111109, "07081804"),
    (1111111111, "14050471"),
    (1234567890, "89005924"),
    (2000000000, "69279037"),
    (20000000000, "65353130"),
]
HOTP = ["755224", "287082", "359152", "969429", "338314", "254676", "287922", "162583", "399871", "520489"]


def at(seconds: int) -> datetime:
    return datetime.fromtimestamp(seconds, UTC)


@pytest.mark.parametrize(("seconds", "code"), TOTP)
def test_a_code_of_the_rfc_is_taken_at_its_time(seconds: int, code: str) -> None:
    with clock.standing_at(at(seconds)):
        assert step_of(SEED, code[-6:]) == seconds // 30


@pytest.mark.parametrize(("step", "code"), list(enumerate(HOTP))[1:])  # no clock stands before 1970
def test_a_code_is_that_of_its_step(step: int, code: str) -> None:
    with clock.standing_at(at(30 * step + 29)):
        assert step_of(SEED, code) == step


@pytest.mark.parametrize(("steps", "is_taken"), [(-2, False), (-1, True), (0, True), (1, True), (2, False)])
def test_a_clock_may_be_off_by_one_step(steps: int, is_taken: bool) -> None:
    """RFC 6238, 5.2: at most one step for the delay of the network."""
    with clock.standing_at(at(1234567890 + 30 * steps)):
        assert (step_of(SEED, "005924") is not None) == is_taken


@pytest.mark.parametrize("code", ["", "05924", "0005924", "005925", "٠٠٥٩٢٤", "x" * 60_000, "\0"])
def test_nothing_else_is_a_code(code: str) -> None:
    with clock.standing_at(at(1234567890)):
        assert step_of(SEED, code) is None


def test_a_secret_has_160_bits() -> None:
    """RFC 4226, section 4, R6: 160 bits are recommended."""
    assert len(base64.b32decode(new_secret())) * 8 == 160 and new_secret() != new_secret()
