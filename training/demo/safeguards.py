"""A backup every week, and one restored on trial in each quarter."""

from clinic import clock
from clinic.actions.safeguards import note_safeguard
from training.demo.scenario import key_of
from training.demo.setting_up import Cast

WEEKS_BETWEEN_DRILLS = 12
COPY = "copied to the disk in the safe; the other disk went home with the owner"
DRILL = "restored to a folder of its own; every seal was whole"


def keep_safe(cast: Cast, week: int) -> None:
    """On a Friday evening, at every site."""
    friday = cast.scenario.day(week, 4)
    if friday >= cast.scenario.last:
        return
    kinds = [("backup", COPY), ("restore drill", DRILL)][: 1 + (week % WEEKS_BETWEEN_DRILLS == 0)]
    with clock.standing_at(cast.scenario.instant(friday, 18)):
        for site in cast.sites.values():
            for kind, said in kinds:
                note_safeguard(
                    kind, True, said, friday, site=site, done_by=cast.owner, by=cast.owner,
                    id=key_of(kind, site.code, week),
                )  # fmt: skip
