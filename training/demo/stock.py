"""The shelf at High Street since jobs are counted: kept from a week on, counted each quarter, and two messages of a unit."""

from clinic import clock
from clinic.actions.stock import keep_in_stock, keep_message, move_stock
from clinic.rules.stock import StockSays
from training.demo.jobs import WINDOW
from training.demo.scenario import key_of
from training.demo.setting_up import Cast

FROM, BETWEEN = 30, 12  # weeks
LINES = {
    "fluted cutters, 2.0 mm": {
        "shelf": "milling tool",
        "line": 2,
        "full": 6,
        "tool": "fluted cutter",
        "size": "2.0 mm",
    },
    "coolant filters": {"shelf": "coolant filter", "line": 2, "full": 8},
    "coolant additive, bottles": {"shelf": "additive", "line": 1, "full": 4},
}
COUNTED = (5, 3, 2, 4, 1)
MESSAGES = (
    ("W-12", "coolant flow low", "Stop. Look at the level, then at the filter; change it where it is grey. Start again only with a steady jet."),
    ("D-03", "door not closed", "Wipe chips from the seal of the door with tweezers and a cloth, never with a finger. Close it until it clicks."),
)  # fmt: skip


def keep_stock(cast: Cast, week: int) -> None:
    """On a Tuesday, by whoever keeps the roster there."""
    day = cast.scenario.day(week, 1)
    if week < FROM or (week - FROM) % BETWEEN or day >= cast.scenario.last:
        return
    site, by, round_ = cast.sites["high-street"], cast.people["delphine"], (week - FROM) // BETWEEN
    with clock.standing_at(cast.scenario.instant(day, 17)):
        for n, (name, said) in enumerate(LINES.items()):
            if week == FROM:
                keep_in_stock(site, day, by=by, id=key_of("stock", name), name=name, **{"tool": "", "size": "", **said})
            if said["shelf"] != "milling tool":  # spare tools are counted by what is mounted
                left = COUNTED[(round_ + n) % len(COUNTED)]
                move_stock(site, name, StockSays.COUNTED, left, by=by, id=key_of("counted", name, week))
        if round_ < len(MESSAGES):
            code, shown, remedy = MESSAGES[round_]
            keep_message(site, cast.equipment[WINDOW], code, remedy, by=by, shown=shown, id=key_of("message", code))
