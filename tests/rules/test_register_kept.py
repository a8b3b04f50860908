"""How the register itself is kept, in the sentences of a binder."""

from datetime import date, timedelta

import pytest

from training.rules.register_kept import Held, KeptDone, register_says

DAY = date(2026, 3, 2)
ALL = "backup", "restore drill", "check of the seals"


def done(kind: str, ago: int, good: bool = True, by: str = "") -> KeptDone:
    return KeptDone(kind, DAY - timedelta(days=ago), good, by, f"{kind}-{ago}")


def test_what_was_never_done_is_said_plainly() -> None:
    assert register_says([], [], [], DAY) == [
        "No backup of the register was recorded by this day.",
        "No restore drill was recorded by this day: nobody has shown that a copy can be restored.",
        "No check of the seals was recorded by this day, beside the one that this binder runs.",
        "No record was taken away in the period.",
        "No legal hold stood on this day.",
    ]


def test_the_last_of_each_kind_says_who_did_it_and_how_it_went() -> None:
    rows = [done("backup", 1), done("backup", 9), done("restore drill", 30, good=False, by="Ines Pellow")]
    says = register_says([*rows, done("check of the seals", 0, by="Ines Pellow")], [], [], DAY)
    assert says[:3] == [
        "Last backup: 1 March 2026, by the register itself; the copy is complete.",
        "Last restore drill: 31 January 2026, by Ines Pellow; the restored copy was not whole.",
        "Last check of the seals: 2 March 2026, by Ines Pellow; no seal was broken.",
    ]


@pytest.mark.parametrize("kind", ALL)
def test_what_was_done_after_the_day_of_the_binder_is_not_its_last(kind: str) -> None:
    says = register_says([done(kind, -1), done(kind, 5)], [], [], DAY)
    assert f"Last {kind}: 25 February 2026" in says[ALL.index(kind)]


@pytest.mark.parametrize(
    ("purged", "says"),
    [
        ([(DAY, 1)], "1 record was taken away in the period after the time was over, last on 2 March 2026;"),
        (
            [(DAY, 1), (DAY - timedelta(days=2), 40)],
            "41 records were taken away in the period after the time was over, last on 2 March 2026;",
        ),
    ],
)
def test_what_was_taken_away_is_counted(purged: list[tuple[date, int]], says: str) -> None:
    assert register_says([], purged, [], DAY)[3].startswith(says)


@pytest.mark.parametrize(
    ("since", "lifted", "stands"), [(0, None, True), (1, 0, False), (3, -1, True), (-1, None, False)]
)
def test_a_legal_hold_stands_from_its_day_until_the_day_it_is_lifted(
    since: int, lifted: int | None, stands: bool
) -> None:
    held = Held(DAY - timedelta(days=since), "a claim.", None if lifted is None else DAY - timedelta(days=lifted))
    says = register_says([], [], [held], DAY)[4]
    assert says.startswith("A legal hold stands since ") is stands
    assert says.endswith(": a claim.") is stands
