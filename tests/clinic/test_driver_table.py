"""The papers of torque drivers and references, all of a site in one table."""

from datetime import date
from typing import Any

import pytest

from clinic.driver_table import DriverTable
from clinic.models import DriverDetails, Equipment
from clinic.tables import TablePlace
from tests.cast import REGISTER_START, Cast
from tests.tables import filled_in, uploaded, words

pytestmark = pytest.mark.django_db
TODAY = date.today()
TODAY_TYPED = f"{TODAY:%d %b %Y}"


def unit(cast: Cast, kind: str, label: str) -> Equipment:
    return Equipment.objects.create(site=cast.lane, kind=kind, label=label, in_service_from=REGISTER_START)


TABLES = "/millbrook-lane/people/roster/going-live/"
PAPER = {"driver_class": "D", "seat": "hex 1.3", "set_torque": "12", "most_torque": "20", "paper": "calibration certificate"}  # fmt: skip
ABOVE = {"all-day": TODAY_TYPED, "all-torque_unit": "N·cm", "all-target_source": "Instructions, page 30"}


def test_the_papers_of_all_drivers_are_entered_in_one_table(cast: Cast, signed_in: Any) -> None:
    drivers = [unit(cast, "torque driver", f"driver {number}") for number in (1, 2)]
    table = DriverTable(TablePlace(cast.lane, TODAY, cast.coordinator.person))
    sent = filled_in(table, {"driver 1": PAPER, "driver 2": PAPER | {"declared_percent": "4"}}, **ABOVE)
    assert signed_in(cast.coordinator).post(f"{TABLES}drivers/", sent).status_code == 302
    rows = DriverDetails.objects.order_by("equipment__label")
    assert [(row.equipment, row.set_torque, row.torque_unit, row.declared_percent) for row in rows] == [
        (drivers[0], "12", "N·cm", ""),
        (drivers[1], "12", "N·cm", "4"),
    ]


def test_a_driver_whose_set_torque_is_beyond_its_largest_is_refused_and_none_is_saved(
    cast: Cast, signed_in: Any
) -> None:
    for number in (1, 2):
        unit(cast, "torque driver", f"driver {number}")
    table = DriverTable(TablePlace(cast.lane, TODAY, cast.coordinator.person))
    sent = filled_in(table, {"driver 1": PAPER, "driver 2": PAPER | {"set_torque": "21", "seat": ""}}, **ABOVE)
    html = words(signed_in(cast.coordinator).post(f"{TABLES}drivers/", sent))
    assert "Driver 2, what it fits</a></b><p>Write what it fits.</p>" in html
    sent = filled_in(table, {"driver 1": PAPER, "driver 2": PAPER | {"set_torque": "21"}}, **ABOVE)
    assert "Driver 2, set torque, as the unit’s maker wants it" in words(
        signed_in(cast.coordinator).post(f"{TABLES}drivers/", sent)
    )
    assert not DriverDetails.objects.exists()


@pytest.mark.parametrize(("tail", "kind"), [("drivers/", "torque driver"), ("references/", "reference driver")])
def test_the_sample_of_the_papers_loads_as_it_is(cast: Cast, signed_in: Any, tail: str, kind: str) -> None:
    unit(cast, kind, "number one")
    client = signed_in(cast.coordinator)
    sample = client.get(f"{TABLES}{tail}?as=xlsx&sample=yes").content
    html = words(client.post(TABLES + tail, uploaded(sample, "sample.xlsx")))
    assert "1 line would be recorded. Nothing is saved yet." in html
