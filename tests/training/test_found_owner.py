"""A lone owner starts the chain of signing at the register's own computer (our own design, D: nobody founds themselves on a page,
and a practice of one has nobody else)."""

from datetime import date, timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.core.management.base import CommandError

from clinic.models import Post
from tests.cast import appoint
from tests.training.bench import Bench, at
from training.models import FoundingGrant, Signature, StandingSpan

pytestmark = pytest.mark.django_db
DETAIL = "The maker’s course of 3 March; certificate in the blue folder."


def found(bench: Bench, **more: Any) -> str:
    out = StringIO()
    given = {"site": "millbrook-lane", "rests_on": "course", "detail": DETAIL} | more
    with at(10):
        call_command("found_owner", bench.cast.owner.account.sign_in_name, stdout=out, **given)
    return out.getvalue()


def test_a_lone_owner_may_work_alone_and_sign_and_the_grant_says_how_it_came_to_be(bench: Bench) -> None:
    assert "Hester Vane may work alone and sign through" in found(bench)
    row = FoundingGrant.objects.get(person=bench.cast.owner.person)
    assert row.recorded_by is None and DETAIL in row.detail and "register’s own computer" in row.detail
    assert not Signature.objects.filter(signs=row.pk).exists()
    spans = StandingSpan.objects.filter(person=bench.cast.owner.person).on(row.happened_on)
    assert {(span.state, span.basis) for span in spans} == {("current", "founding")}


def test_where_somebody_else_may_it_is_theirs_to_make_and_sign(bench: Bench) -> None:
    appoint(bench.cast.second, Post.OWNER, bench.cast.lane, bench.cast.lane)
    with pytest.raises(CommandError, match="Tobias Rask may make it, and sign it"):
        found(bench)
    assert not FoundingGrant.objects.filter(recorded_by__isnull=True).exists()


def test_every_refusal_of_a_founding_grant_holds_at_the_machine_too(bench: Bench) -> None:
    with pytest.raises(CommandError) as refused:
        found(bench, detail=" ", procedures=["P99"], through=date(2025, 2, 10) + timedelta(days=400))
    said = str(refused.value)
    assert all(words in said for words in ("Say what it rests on", "would last too long", "No version is in force"))


def test_a_stranger_or_another_site_is_named(bench: Bench) -> None:
    with pytest.raises(CommandError, match="There is no site nowhere"):
        found(bench, site="nowhere")
    with pytest.raises(CommandError, match="Nobody signs in as nobody"):
        call_command("found_owner", "nobody.here", "--site", "millbrook-lane", "--rests-on", "visit", "--detail", "x")
