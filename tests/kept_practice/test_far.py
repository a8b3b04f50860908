"""Every day of the kept practice is one that moves."""

import re
from datetime import date

import pytest

from clinic.keeping.rows import columns_of
from tests.kept_practice.taking_up import kept, taken_up

pytestmark = [pytest.mark.django_db, pytest.mark.one_database]
FAR = date(2061, 5, 19)


def test_no_day_of_the_kept_weeks_is_left_in_another_century() -> None:
    """But for those of the sources, which the texts of procedures name."""
    taken_up(FAR)
    years = re.compile(r"\b202[3-9]\b")
    left = {
        (table._meta.label, name)
        for table in kept().tables
        for name in columns_of(table)
        for value in table._base_manager.values_list(name, flat=True)
        if not isinstance(value, bytes | memoryview) and years.search(str(value))
    }
    assert left == ONLY_SAID


# By label and column: what names a year of its own and is no day of the history.
ONLY_SAID = {
    ("clinic.Site", "infection_coordinator"),  # when she took her course
    ("clinic.Change", "after"),  # the same, as it was entered
    ("clinic.UpkeepEntry", "readings"),  # numbers of reports
    ("training.TaughtSession", "trainer_qualification"),
    ("training.Version", "content"),
}
