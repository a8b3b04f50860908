"""A backup every week, one restored on trial in each quarter, and once a legal hold that was lifted again."""

from clinic import clock
from clinic.actions.purging import hold, lift
from clinic.actions.safeguards import note_safeguard
from clinic.models import LegalHold
from training.demo.scenario import key_of
from training.demo.setting_up import Cast

WEEKS_BETWEEN_DRILLS = 12
HELD = (40, "high-street", "a question of the insurer about water in the mill room")
LIFTED = (46, "the insurer wrote that it needs nothing more")
COPY = "copied to the disk in the safe; the other disk went home with the owner"
DRILL = "restored to a folder of its own; every seal was whole"


def keep_held(cast: Cast, week: int) -> None:
    """Nothing is purged while the insurer asks."""
    began, code, asks = HELD
    ended, why = LIFTED
    id = key_of("legal hold", code)
    with clock.standing_at(cast.scenario.instant(cast.scenario.day(week, 1), 11)):
        if week == began:
            hold(asks, site=cast.sites[code], by=cast.owner, id=id)
        if week == ended:
            lift(LegalHold.objects.get(pk=id), why, by=cast.owner)


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
