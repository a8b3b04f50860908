"""Without training in the house, the clinic lets nobody do anything alone, and waits for nobody."""

from datetime import date

import pytest

from clinic import port
from clinic.models import EquipmentKind
from clinic.rules.roles import ProcedureRole
from tests import stand_in
from tests.cast import Cast

pytestmark = pytest.mark.django_db
TODAY = date(2025, 3, 3)


@pytest.fixture
def alone(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> Cast:
    monkeypatch.setattr(port, "_training", None)
    return cast


def test_nobody_may_do_anything_alone(alone: Cast) -> None:
    asked = {("P06", TODAY), ("P01", TODAY)}
    assert port.usable_people(alone.organisation, "P06", TODAY) == set()
    assert port.usable_on_days(alone.organisation, asked, []) == {each: set() for each in asked}


def test_what_nobody_holds_is_never_open_to_everybody(alone: Cast) -> None:
    role = next(iter(ProcedureRole))
    assert port.code_of(alone.organisation, role) == str(role)
    assert "returns" in port.returned_by(alone.organisation, EquipmentKind.MILLING_UNIT)


def test_there_is_no_text_nothing_to_teach_and_nothing_falls(alone: Cast) -> None:
    assert port.procedure_on(alone.organisation, "P06", TODAY, {}) is None
    assert port.to_teach(alone.lane, TODAY) == []
    assert port.watched_tightening(alone.lane, TODAY, TODAY) == []
    assert port.what_falls_without(alone.owner.person, alone.lane, TODAY) == []
    assert port.what_ends_meanwhile(alone.lane, TODAY, TODAY) == []


def test_a_stand_in_answers_what_it_is_given_and_leaves_the_rest(cast: Cast, monkeypatch: pytest.MonkeyPatch) -> None:
    stand_in.usable(monkeypatch, {cast.supervisor.person.pk})
    assert port.usable_people(cast.organisation, "P06", TODAY) == {cast.supervisor.person.pk}
    assert port.usable_people(cast.organisation, "", TODAY) == set()
    assert port.to_teach(cast.lane, TODAY) == []
