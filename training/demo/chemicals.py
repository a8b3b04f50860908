"""The list of chemicals of the demo: what stood there at the start, and what brought a new hazard class later."""

from datetime import date, timedelta

from clinic import clock
from clinic.actions.chemicals import Chemical, list_chemical
from training.demo.scenario import key_of
from training.demo.setting_up import Cast

# site, product, classes, place, week it came (0: with the register)
LISTED = (
    ("high-street", "coolant additive", ("skin corrosion or irritation", "serious eye damage or eye irritation"), "under the sink, mill room", 0),
    ("high-street", "chamber cleaner", ("serious eye damage or eye irritation",), "under the sink, mill room", 0),
    ("high-street", "surface disinfectant", ("flammable liquid", "serious eye damage or eye irritation"), "locked cupboard, room 3", 0),
    ("high-street", "steriliser cleaner", ("corrosive to metals", "skin corrosion or irritation"), "locked cupboard, room 3", 0),
    ("high-street", "coolant additive, preserved", ("respiratory or skin sensitisation",), "under the sink, mill room", 40),
    ("high-street", "lubricant spray", ("aerosol", "gas under pressure"), "tool bench, mill room", 78),
    ("ferry-lane", "chamber cleaner", ("serious eye damage or eye irritation",), "shelf by the suction unit", 0),
)  # fmt: skip


def list_chemicals(cast: Cast, week: int, monday: date) -> None:
    """Entered on the day it came, by the owner. The last one brings a hazard that nobody was taught yet."""
    for site, product, classes, place, came in LISTED:
        if came == week:
            day = monday if week else cast.scenario.start
            said = Chemical(product, classes, day - timedelta(days=200), place, day)
            with clock.standing_at(cast.scenario.instant(day, 9)):
                list_chemical(cast.sites[site], said, by=cast.owner, id=key_of("chemical", site, product))
