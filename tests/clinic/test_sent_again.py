"""Forms of units, their intervals and tools, sent twice by `signed_in`: recorded once, and answered as the first time."""

from typing import Any
from uuid import uuid4

import pytest

from clinic.models import Equipment, MakersPair, OpeningReading, TaskSetting
from tests.cast import Cast
from tests.training.bench import at

pytestmark = pytest.mark.django_db

UNIT = {"label": "unit 1", "serial": "M-1", "part_of": "", "in_service_from": "6 Jan 2025", "in_service_to": ""}
INTERVAL = {"from_day": "4 Feb 2025", "every_days": "7", "every_units": "", "warn_days": "1", "plan_units": ""}
PAIR = {"allowed": "no", "source": "The maker’s table, page 12", "day": "3 Feb 2025"}


def send(signed_in: Any, cast: Cast, path: str, **said: str) -> None:
    with at(3):
        answer = signed_in(cast.coordinator).post(
            f"/{cast.lane.code}/upkeep/{path}", {"submission": str(uuid4()), **said}
        )
    assert answer.status_code == 302, answer.context["form"].errors


def test_the_interval_of_a_task(cast: Cast, signed_in: Any) -> None:
    send(signed_in, cast, "intervals/", task=str(cast.task.pk), source="The maker’s instructions, page 30", **INTERVAL)
    assert TaskSetting.objects.get().every_days == 7


def test_the_opening_reading_of_a_unit(cast: Cast, signed_in: Any) -> None:
    send(
        signed_in, cast, f"equipment/{cast.unit.pk}/opening/", task=str(cast.task.pk), last_done="6 Jan 2025", units="3"
    )
    assert OpeningReading.objects.get().units == 3


def test_a_line_of_the_makers_table(cast: Cast, signed_in: Any) -> None:
    line = {"tool": "fluted cutter", "material": "pre-sintered zirconia", "way": "dry"}
    send(signed_in, cast, f"equipment/{cast.unit.pk}/pairs/", **line, **PAIR)
    assert not MakersPair.objects.get().allowed


def test_a_unit_renamed(cast: Cast, signed_in: Any) -> None:
    send(signed_in, cast, f"equipment/{cast.unit.pk}/change/", **UNIT | {"label": "unit 1, by the sink"})
    assert Equipment.objects.get(pk=cast.unit.pk).label == "unit 1, by the sink"
