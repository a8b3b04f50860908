"""Random people, procedures and days of the demo: one sentence on page, matrix, JSON and binder."""

from datetime import timedelta
from random import Random
from typing import Any

import pytest

from tests.demo import TODAY, Demo
from tests.house import same_words as said

pytestmark = pytest.mark.django_db
DRAWN = 60


@pytest.mark.parametrize("days_ago", [0, 97, 311])
def test_a_person_in_a_procedure_on_a_day_is_said_in_one_sentence(demo: Demo, signed_in: Any, days_ago: int) -> None:
    client, day, site = signed_in(demo.owner), TODAY - timedelta(days=days_ago), demo.high_street
    matrix, plain, binder = said.on_matrix(client, site, day), said.in_json(site, day), said.in_binder(site, day)
    assert sorted(matrix.values()) == sorted(binder.values())
    assert plain.items() <= matrix.items()
    for person, code in Random(days_ago).sample(sorted(matrix), DRAWN):
        who = next(each for each in demo.organisation.people.all() if str(each.pk) == person)
        assert said.on_page(client, site, who, code, day) == matrix[person, code]
