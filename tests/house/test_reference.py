"""Everything that decides an answer is in the record: each table is a fact, what changes say, or worked out from them; and what
is none of these decides nothing and says why."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.apps import apps
from django.db import models

from clinic.models import (
    Fact,
    FactPart,
    Invitation,
    KnownDevice,
    Person,
    Pin,
    RecoveryCode,
    Seal,
    SealShape,
    SecondFactor,
    SignedIn,
    SigningAttempt,
    TryCount,
)
from clinic.reference import REFERENCE
from clinic.rights import CHANGES
from tests.cast import Cast
from tests.reference_watch import ROOT, WrittenPastTheDoor
from training.models import (
    BinderJob,
    Draft,
    EvidenceSpan,
    FindingsKept,
    FindingSpan,
    PackPart,
    SpansWaiting,
    StandingSpan,
)

SEALS = {Seal, SealShape}  # the check works each of them out anew
DERIVED = {
    StandingSpan,
    EvidenceSpan,
    FindingSpan,
    FindingsKept,
    SpansWaiting,
}  # `spans check` writes them anew and compares
HELD_BY_FACTS = {SecondFactor}  # `clinic.factor_check` holds each against the fact that added it
DECIDES_NOTHING = {
    Invitation: "A code that is good for days. That a password was chosen with it is noted, and a recovery is a fact.",
    SigningAttempt: "It counts tries towards a pause, and goes with it.",
    TryCount: "It counts tries towards a pause, and goes with it.",
    KnownDevice: "Whether a pause of one place reaches a browser. Forgotten with the sessions.",
    Pin: "Hashes of digits for one device and day. That one was chosen or ended is noted, as a password is.",
    RecoveryCode: "Digests of codes. That they were made and used is a fact.",
    SignedIn: "Sessions of today, listed for whoever may end them.",
    Draft: "A text that is still written. Approved, it is a version, which is a fact.",
    BinderJob: "How far a binder is. Issued, it is a fact.",
    PackPart: "The evidence of a binder, packed until somebody saves it: made of facts, and made again from them.",
}


def ours() -> list[type[models.Model]]:
    return [model for app in ("clinic", "training") for model in apps.get_app_config(app).get_models()]


def places(model: type[models.Model]) -> int:
    """In how many of the places a table stands."""
    groups: list[Any] = [SEALS, DERIVED, HELD_BY_FACTS, DECIDES_NOTHING, REFERENCE]
    return issubclass(model, Fact | FactPart) + sum(model in group for group in groups)


def test_every_table_stands_in_one_place() -> None:
    assert [model._meta.label for model in ours() if places(model) != 1] == []


def test_a_table_that_stands_nowhere_would_be_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delitem(REFERENCE, Person)
    assert [model for model in ours() if places(model) != 1] == [Person]


def test_every_column_of_reference_data_decides_or_says_why_not() -> None:
    def left_out() -> Iterator[str]:
        for model, columns in REFERENCE.items():
            there = {field.attname for field in model._meta.concrete_fields if not field.primary_key}
            for name in there ^ {*columns.deciding, *columns.beside}:
                yield f"{model._meta.label}.{name}"

    assert list(left_out()) == []


def test_what_is_left_out_has_its_reason() -> None:
    reasons = [*DECIDES_NOTHING.values(), *(why for columns in REFERENCE.values() for why in columns.beside.values())]
    assert [why for why in reasons if len(why) < len("It decides nothing.")] == []


def test_every_table_of_reference_data_says_who_may_change_it() -> None:
    assert set(CHANGES) == {model._meta.label_lower for model in REFERENCE}


@pytest.mark.django_db
@pytest.mark.parametrize(
    "deed",
    [
        "Person.objects.filter(pk=who.pk).update(family_name='Other')",
        "setattr(who, 'last_day', None) or who.save()",
        "Person.objects.filter(pk=who.pk).delete()",
        "Person.objects.create(organisation=who.organisation, home_site=who.home_site)",
        "Person.objects.bulk_update([who], ['email'])",
    ],
)
def test_what_is_written_past_the_door_stops_the_test(cast: Cast, deed: str) -> None:
    """Each as a module of the register would do it. People whom history names are never deleted; the door stands before that."""
    inside = compile(deed, str(ROOT / "clinic" / "made_up.py"), "eval")
    who = Person(organisation=cast.organisation, home_site=cast.lane, given_name="Nell", family_name="Ashe")
    who.save()
    with pytest.raises(WrittenPastTheDoor, match=r"clinic/made_up\.py writes clinic_person"):
        eval(inside, {"Person": Person, "who": who})


@pytest.mark.django_db
def test_what_decides_nothing_is_written_anywhere(cast: Cast) -> None:
    inside = compile("who.save(update_fields=['password'])", str(ROOT / "clinic" / "made_up.py"), "eval")
    assert eval(inside, {"who": cast.owner.account}) is None
