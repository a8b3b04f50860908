"""Every kind of fact, and every kind of reference data that is changed, has its line in the policy."""

import re

from clinic.facts import fact_models
from clinic.rights import CHANGES, KINDS
from tests.house.sources import ROOT

CALLS = re.compile(r"note_change\(\s*(\w+)")
# What the rows are called where their changes are noted.
CALLED = {
    "absence": "clinic.absence",
    "account": "clinic.account",
    "appointment": "clinic.appointment",
    "held": "clinic.roleheld",
    "lot": "clinic.blocklot",
    "person": "clinic.person",
    "site": "clinic.site",
    "tool": "clinic.millingtool",
    "unit": "clinic.equipment",
    "witness": "clinic.outsidewitness",
}
OF_TRAINING = {"row": {"training.requirement", "training.inspectorpass"}}


def changed() -> set[str]:
    """Names of the rows whose changes are noted, in the actions of both rooms."""
    files = [path for room in ("clinic", "training") for path in (ROOT / room / "actions").glob("*.py")]
    return {name for path in files for name in CALLS.findall(path.read_text())}


def test_every_kind_of_fact_says_who_may_record_it_and_who_may_put_it_right() -> None:
    assert set(KINDS) == set(fact_models())


def test_every_kind_of_reference_data_says_who_may_change_it() -> None:
    assert changed() == set(CALLED) | set(OF_TRAINING)
    assert set(CHANGES) == set(CALLED.values()) | OF_TRAINING["row"]


def test_a_kind_without_a_line_would_be_found() -> None:
    assert set(KINDS) - {"clinic.use"} != set(fact_models())
