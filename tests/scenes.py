"""The two scenes that most tests of training play in, set once for a module and taken back with its cast.

A test gets rows of its own, read anew; what it adds is taken back after it. A module that asks another policy of the bench, or
counts what there is before a scene, sets its own.
"""

from collections.abc import Iterator
from typing import Any

import pytest

from tests.cast import Cast
from tests.training import bench as benches
from tests.training import people_scene
from tests.training.bench import Bench
from tests.training.people_scene import Scene


@pytest.fixture(scope="module")
def the_bench(the_cast: Cast, django_db_blocker: Any) -> Bench:
    with django_db_blocker.unblock():
        return benches.set_up(the_cast)


@pytest.fixture
def bench(the_bench: Bench, cast: Cast) -> Bench:
    """A procedure ready to be watched (tests.training.bench)."""
    return the_bench.anew()


@pytest.fixture(scope="module")
def the_scene(the_cast: Cast, django_db_blocker: Any) -> Scene:
    with django_db_blocker.unblock():
        return people_scene.set_scene(the_cast)


@pytest.fixture
def scene(the_scene: Scene, cast: Cast) -> Iterator[Scene]:
    """Three procedures in force and who needs them (tests.training.people_scene), at noon of its day."""
    with people_scene.noon():
        yield the_scene.anew()
