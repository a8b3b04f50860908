"""The kept practice, played on from its last whole week, is the practice that is played from the first day.

Every row of every table, every seal and every byte of the papers. Only what is drawn by chance is held still for it: the keys
of facts that nobody gives one, and the codes of binders.
"""

from collections.abc import Callable
from typing import Any

import pytest
from django.apps import apps
from django.conf import settings
from django.db import connection, transaction

from clinic.models import Change, Seal, Voiding
from tests.demo import TODAY
from training.demo.kept import MADE_AFRESH, Kept
from training.demo.play import make, play
from training.demo.scenario import key_of
from training.models import Draft, Issue

pytestmark = [pytest.mark.django_db, pytest.mark.demo_practice, pytest.mark.one_database]

Rows = dict[str, list[tuple[Any, ...]]]
# Numbers that the database gives: stored timelines are written anew at other times, and drafts come and go.
NUMBERED = {*MADE_AFRESH, Draft} - {Seal}


@pytest.fixture
def nothing_by_chance(monkeypatch: pytest.MonkeyPatch) -> None:
    """A fact without a key gets that of its place in the record, as the kept practice gives it."""
    for model in (Change, Voiding):
        by_place = lambda: key_of("kept", Seal.objects.count())  # noqa: E731
        monkeypatch.setitem(model._meta.get_field("id").__dict__, "_get_default", by_place)
    monkeypatch.setattr("secrets.token_urlsafe", lambda size: key_of("code", Issue.objects.count()).hex[:size])


def rows_after(making: Callable[..., Any]) -> Rows:
    """What stands in every table after it was made in empty ones; taken back at the end."""
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute("DELETE FROM sqlite_sequence")  # seals name their site by its number
        making(settings.DEMO_DIR, settings.LIBRARY_DIR, TODAY)
        found = {model._meta.label: rows_of(model) for model in apps.get_models(include_auto_created=True)}
        transaction.set_rollback(True)
    return found


def rows_of(model: Any) -> list[tuple[Any, ...]]:
    names = [field.attname for field in model._meta.concrete_fields if not (model in NUMBERED and field.primary_key)]
    return sorted(model._base_manager.values_list(*names), key=repr)


def test_played_on_from_the_kept_weeks_it_is_the_same_to_the_last_seal(nothing_by_chance: None) -> None:
    kept, played = rows_after(make), rows_after(play)
    assert sum(map(len, played.values())) > 15_000
    different = [label for label in played if kept[label] != played[label]]
    assert different == [], "play it anew and keep that: manage.py demo --keep"


def test_it_is_made_of_the_scenario_the_library_and_the_tables_of_today() -> None:
    """Where this fails, the demo plays everything, which takes a minute. Keep it anew: manage.py demo --keep"""
    Kept.read(settings.DEMO_DIR, settings.LIBRARY_DIR)
