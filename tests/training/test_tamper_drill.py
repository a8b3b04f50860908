"""A small tamper drill on each database; the large one is `python -m tests.scale.tamper_drill --edits 10000`."""

from pathlib import Path
from typing import Any

import pytest
from django.db import transaction

from tests.cast import Cast
from tests.scale.tamper_drill import ALONE, HELD, Told, drill, stage

pytestmark = pytest.mark.django_db
EDITS, LEAST_PLANNED = 80, 40


def drilled(cast: Cast) -> Told:
    with transaction.atomic():
        stage(cast)
        told = drill(EDITS)
        transaction.set_rollback(True)
    return told


def test_every_random_edit_and_every_planned_attack_is_found(cast: Cast, settings: Any, tmp_path: Path) -> None:
    """Those of the second kind by a held head and by nothing else, which `as_planned` holds too."""
    settings.DOCUMENTS_DIR, settings.CHECKPOINTS_DIR = tmp_path / "documents", tmp_path / "checkpoints"
    settings.CHECKPOINT_PLACES = []
    told = drilled(cast)
    assert dict(told.missed) == {}
    assert sum(count for what, count in told.tried.items() if what.startswith("random")) == EDITS
    assert (told.tried[ALONE] + told.tried[HELD] >= LEAST_PLANNED, told.tried[HELD] >= 8) == (True, True)
