"""The demo practice, played once for this folder.

The fixtures stand here and not in tests.fixtures: pytest takes a package fixture down with the package it is written in,
and one written in a plugin lives to the end of the run, where every later test would find the demo's rows.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.db import connection, transaction

from tests.demo import NOW, Demo, enter_demo
from tests.demo_practice.looker import Looker, Seen


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Walked through on one database, on which it is played in half the time. Its pages say the same on both, as the tests of
    each page show."""
    here = Path(__file__).parent
    for item in items:
        if item.path.is_relative_to(here):
            item.add_marker(pytest.mark.demo_practice)


@pytest.fixture(scope="package")
def the_demo(django_db_setup: None, django_db_blocker: Any) -> Iterator[Demo]:
    """The demo practice, played once for a folder of tests (it takes half a minute) and taken back after it."""
    with django_db_blocker.unblock(), transaction.atomic():
        practice = enter_demo()
        connection.check_constraints()  # here once; otherwise every test would check all that waits again
        yield practice
        transaction.set_rollback(True)


@pytest.fixture
def demo(the_demo: Demo, db: None) -> Iterator[Demo]:
    """The demo practice (tests.demo), on the day up to which it was played."""
    with time_machine.travel(NOW, tick=True):
        yield the_demo


@pytest.fixture(scope="package")
def what_was_seen() -> dict[str, dict[str, Seen]]:
    return defaultdict(dict)


@pytest.fixture
def looking(demo: Demo, signed_in: Any, what_was_seen: dict[str, dict[str, Seen]]) -> Callable[[str], Looker]:
    """`looking("owner")` is somebody of the demo who looks at pages and sends nothing."""
    return lambda who: Looker(signed_in(getattr(demo, who)), what_was_seen[who])
