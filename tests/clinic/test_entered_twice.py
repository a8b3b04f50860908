"""Units, tools and lots carry no number of their form: what says the very same is what is there, another in its way is refused.

The client of the tests sends each form twice by itself (`tests.sent_twice`).
"""

from typing import Any

import pytest

from clinic.models import BlockLot, Change, Equipment, MillingTool
from tests.cast import Cast

pytestmark = pytest.mark.django_db
UNIT = {"kind": "milling unit", "label": "unit 3", "serial": "M-3", "in_service_from": "6 Jan 2025"}
TOOL = {"code": "F-2.0", "kind": "fluted cutter", "seat": "hex 1.3", "life_unit": "parts", "life": "40"}
LOT = {"lot": "L-77", "material": "pre-sintered zirconia", "factor": "1.2300", "received_on": "6 Jan 2025"}
ENTERED = [
    ("upkeep/equipment/new/", UNIT, {"serial": "M-4"}, Equipment, "Another unit here has this name."),
    ("upkeep/tools/new/", TOOL, {"life": "50"}, MillingTool, "A tool with this code is entered."),
    ("upkeep/lots/new/", LOT, {"factor": "1.2500"}, BlockLot, "This lot is entered already."),
]


@pytest.mark.parametrize(("where", "said", "other", "table", "refusal"), ENTERED)
def test_the_same_is_one_and_another_in_its_way_is_refused(
    cast: Cast, signed_in: Any, where: str, said: dict[str, str], other: dict[str, str], table: Any, refusal: str
) -> None:
    client, before = signed_in(cast.coordinator), table.objects.count()
    assert client.post(f"/millbrook-lane/{where}", said).status_code == 302
    assert table.objects.count() == before + 1 and Change.objects.filter(about=table._meta.label_lower).count() > 0
    assert refusal in client.post(f"/millbrook-lane/{where}", said | other).content.decode()
    assert table.objects.count() == before + 1
