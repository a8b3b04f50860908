"""Who may sign, and when watching begins anew, against published rules. Marks: V read, M from memory."""

from datetime import timedelta

import pytest

from tests.rules.shapes import d, met, signed, standing
from training.rules.facts import Evidence, Policy, State
from training.rules.signing import Code, may_sign
from training.rules.standing import evidence_on

ONCE = Policy(check_asked=False)
ANEW = Policy(check_asked=False, reobserve_days=30)


def codes(signer: str, learner, own, day: str) -> set[Code]:
    on = d(day)
    refused = may_sign(
        person="amina", signer=signer, has_authority=True, signer_standing=own.on(on), detail=evidence_on(learner, on), checked=True
    )  # fmt: skip
    return {one.code for one in refused if isinstance(one.code, Code)}


@pytest.mark.parametrize(
    ("signers_facts", "refused"),
    [([], {Code.SIGNER_NOT_USABLE}), ([met("2026-02-01"), signed("2026-02-01")], set())],
)
def test_a_supervisors_own_competence_is_on_record_before_signing(signers_facts: list, refused: set) -> None:
    """E-09, 21 CFR 11.10(i), M; K-07, ISO 15189:2022 6.2.3, M: authorisation for named activities."""
    learner = standing([met("2026-03-01")], ONCE)
    assert codes("rivka", learner, standing(signers_facts, ONCE), "2026-03-02") == refused


def test_whoever_performs_is_not_whoever_decides() -> None:
    """W-22, CDC 2016 summary, V: observed directly; K-10, ISO/IEC 17024:2012, M: decided by somebody else."""
    own = standing([met("2026-03-01"), signed("2026-03-01")], ONCE)
    assert Code.SELF in codes("amina", own, own, "2026-03-02")


def test_a_changed_method_asks_to_be_watched_again_before_it_is_used_alone() -> None:
    """K-03, 42 CFR 493.1413(b)(9), M: re-evaluated when method or instrument changes. The days of grace are D."""
    found = standing([met("2026-03-01"), signed("2026-03-01")], Policy(check_asked=False, renewal_months=24), ANEW)
    changed = d("2027-01-01")
    assert found.on(changed + timedelta(days=30)).state.is_usable
    assert found.on(changed + timedelta(days=31)).state is State.LAPSED


def test_what_was_seen_of_the_old_method_ends_with_the_days_of_grace() -> None:
    """K-03, M; the grace is D."""
    found, last = standing([met("2026-03-01")], ONCE, ANEW), d("2027-01-31")
    assert evidence_on(found, last).evidence is Evidence.ENOUGH
    assert evidence_on(found, last + timedelta(days=1)).evidence is Evidence.NONE
