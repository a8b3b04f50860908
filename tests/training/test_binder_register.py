"""How the register itself is kept, in a binder: copies, drills, checks, what was purged, and holds."""

from datetime import date, timedelta

from clinic.actions.purging import hold, lift
from clinic.actions.safeguards import note_safeguard
from clinic.models import Purged
from clinic.record import record
from clinic.rules.purging import TABLE
from tests.cast import REGISTER_START
from tests.training.people_scene import TODAY, Scene
from training.actions.findings import check_seals
from training.documents.binder.content import Extra
from training.reads.binder.asked import BinderAsked
from training.reads.binder.register import register


def asked(scene: Scene, **days: date) -> BinderAsked:
    return BinderAsked(scene.cast.lane, **{"first": REGISTER_START, "last": TODAY, "as_of": TODAY} | days)


def told(scene: Scene, **days: date) -> tuple[list[str], dict[str, Extra]]:
    says, tables = register(asked(scene, **days))
    return says, {table.title: table for table in tables}


def copied(scene: Scene, kind: str, ago: int, good: bool = True) -> str:
    owner, on = scene.cast.owner.person, TODAY - timedelta(days=ago)
    return str(
        note_safeguard(kind, good, "on the disk in the safe", on, site=scene.cast.lane, done_by=owner, by=owner).pk
    )


def test_copies_and_drills_are_counted_and_the_last_of_each_is_named(scene: Scene) -> None:
    copied(scene, "backup", 9, good=False)
    last, drill = copied(scene, "backup", 2), copied(scene, "restore drill", 5)
    says, tables = told(scene)
    owner = str(scene.cast.owner.person)
    assert says[0] == f"Last backup: 1 March 2025, by {owner}; the copy is complete."
    backup, trial = tables["What keeps the register safe"].rows
    assert backup == ["Backup", "2", "1", "2025-03-01", "the copy is complete", owner, last]
    assert (trial[0], trial[-1]) == ("Restore drill", drill)


def test_a_copy_made_after_the_day_of_the_binder_is_not_its_last(scene: Scene) -> None:
    copied(scene, "backup", 2)
    says, tables = told(scene, as_of=TODAY - timedelta(days=3), last=TODAY - timedelta(days=3))
    assert (says[0], tables["What keeps the register safe"].rows) == (
        "No backup of the register was recorded by this day.",
        [],
    )


def test_the_last_check_of_the_seals_stands_in_it(scene: Scene) -> None:
    check_seals(scene.cast.lane, by=scene.cast.owner.person)
    says, tables = told(scene)
    assert says[2] == f"Last check of the seals: 3 March 2025, by {scene.cast.owner.person}; no seal was broken."
    assert tables["What keeps the register safe"].rows[0][0] == "Check of the seals"


def test_every_line_of_the_retention_table_stands_in_it(scene: Scene) -> None:
    """The periods themselves are held against their sources in tests/published/test_retention.py."""
    _, tables = told(scene)
    assert len(tables["How long records are kept"].rows) == len(TABLE)
    assert "29 CFR 1904.33(a)" in tables["How long records are kept"].rows[0][1]


def test_what_was_purged_stands_in_it_with_the_rule(scene: Scene) -> None:
    gone = Purged(
        site=scene.cast.lane, happened_on=TODAY, what="photos", rule="six years from the day", kept_through=date(2025, 1, 4), contents={"a": "b"},
    )  # fmt: skip
    record(gone, by=None)
    says, tables = told(scene)
    assert says[3].startswith("1 record was taken away in the period")
    assert tables["Taken away, and held"].rows == [
        ["2025-03-03", "1 record taken away: photos", "kept six years from the day, through 4 January 2025", "by command", str(gone.pk)]
    ]  # fmt: skip


def test_a_hold_stands_in_it_and_so_does_one_that_was_lifted(scene: Scene) -> None:
    owner = scene.cast.owner.person
    held = hold("a question of the insurer", site=scene.cast.lane, by=owner)
    assert told(scene)[0][4] == "A legal hold stands since 3 March 2025: a question of the insurer."
    lift(held, "answered", by=owner)
    says, tables = told(scene)
    assert says[4] == "No legal hold stood on this day."
    assert tables["Taken away, and held"].rows[0][2] == "lifted 3 March 2025"
