"""Who may reach and sign a record, held against 21 CFR Part 11 and our own rules (rows E-04, E-06, E-07, E-16, E-24, K-12
and S-87 of the handbook). The register is no record under that part; it borrows the pattern. Marks: V read in the published
text, D our own design."""

from datetime import UTC, date, datetime
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import IntegrityError, transaction
from django.test import Client

from clinic.models import Account
from clinic.record import Refused
from tests.cast import PASSWORD, Cast
from tests.training.bench import ALL_RIGHT, Bench, at, proof, proved
from tests.training.test_signing import address
from training.actions.signing import sign_off
from training.models import Observation, SignOff, StandingSpan

pytestmark = pytest.mark.django_db


# E-04, 21 CFR 11.10(d), V: access is limited to authorised people.


def test_who_is_not_signed_in_reads_no_record(bench: Bench) -> None:
    seen = bench.seen(4)
    answer = Client().get(f"/millbrook-lane/observe/{seen.pk}/")
    assert answer.status_code == 302 and "/sign-in/" in answer.url


# E-06, 21 CFR 11.10(f), V: the order of steps is enforced.


def test_nothing_is_signed_before_every_step_is_marked(bench: Bench) -> None:
    with pytest.raises(Refused, match="one step is not marked"):
        bench.seen(4, {step: mark for step, mark in ALL_RIGHT.items() if step != "s1"})
    assert not Observation.objects.exists()
    with at(6), pytest.raises(Refused):
        sign(bench, bench.cast.supervisor)


def sign(bench: Bench, signer: Any) -> SignOff:
    who = bench.cast.assistant.person
    return sign_off(
        who, bench.procedure, signer.person, site=bench.cast.lane, proved=proved(), statement="I state that she may."
    )


# E-07, 21 CFR 11.10(g), V: only those with authority sign or alter. K-12, D: nobody signs for themselves.


def test_a_learner_signs_nothing_with_her_own_name_and_password(bench: Bench, signed_in: Any) -> None:
    for day in (4, 5):
        bench.seen(day)
    with at(6):
        given = proof(bench.cast.assistant) | {"submission": str(uuid4()), "statement": "I state that I may."}
        shown = signed_in(bench.cast.assistant).post(address(bench), given).content.decode()
    assert "Nobody signs" in shown and not SignOff.objects.exists()


def test_nobody_is_observed_by_oneself(bench: Bench) -> None:
    with pytest.raises(Refused, match="Nobody observes themselves"):
        bench.seen(4, person=bench.cast.supervisor.person)


# E-16, 21 CFR 11.100(a), V, and E-24, 11.300(a), V: a sign-in name belongs to one person, whatever its case, and for good.


def test_a_sign_in_name_is_one_persons_whatever_its_case(cast: Cast) -> None:
    name = cast.assistant.account.sign_in_name
    with pytest.raises(IntegrityError), transaction.atomic():
        Account.objects.create(person=cast.second.person, sign_in_name=name.upper())
    assert Account.objects.get_by_natural_key(name.upper()) == cast.assistant.account


# S-87, D, from K-02 and S-82: last done 2026-01-10, good through 2026-07-12 (183 days after), lapsed on 2026-07-13. Here the
# last performance is the signing of 6 February 2025: good through 8 August 2025.


def test_work_left_undone_for_183_days_lapses_on_the_next(bench: Bench) -> None:
    bench.signed()
    spans = StandingSpan.objects.filter(person=bench.cast.assistant.person)
    states = [[span.state for span in spans.on(day)] for day in (date(2025, 8, 8), date(2025, 8, 9))]
    assert states[0][0] in ("current", "due") and states[1] == ["lapsed"]


# A-04, NIST SP 800-63B-4, V: no password ends by the calendar. E-25, 21 CFR 11.300(b), M: it is reviewed instead.


def test_a_password_is_as_good_after_two_years(cast: Cast) -> None:
    with time_machine.travel(datetime(2028, 3, 3, tzinfo=UTC)):
        sent = {"username": cast.assistant.account.sign_in_name, "password": PASSWORD}
        assert Client().post("/sign-in/", sent).status_code == 302
