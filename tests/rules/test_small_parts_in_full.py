"""Small rules compared whole: each answer with all it carries."""

from datetime import date, timedelta

import pytest

from clinic.rules.chemicals import ListedProduct, NewHazard, new_hazards
from clinic.rules.days import months_between
from clinic.rules.days_in_time import DaysInTime
from clinic.rules.readings import Judged, ReadingKind, ReadingSpec, readings_verdict
from clinic.rules.site_text import OPEN
from clinic.rules.tools import Material
from clinic.rules.upkeep_facts import UpkeepSpan, UpkeepState
from clinic.rules.usage import DaysUntil, days_until
from clinic.rules.water import Count, count_read, treated
from clinic.rules.wording import upkeep_sentence
from clinic.rules.words import listed, number_words
from training.rules.content import NO_CRITICAL, content_faults
from training.rules.place import Answer, Words, filled
from training.rules.texts import Content, Question, QuestionWeight, Step

DAY = date(2026, 3, 2)
Z, G = Material.ZIRCONIA, Material.GLASS_CERAMIC


def test_a_new_hazard_is_known_by_the_entry_that_brought_it() -> None:
    listed_ = [ListedProduct("c1", DAY, "Spray", ("aerosol",))]
    assert new_hazards(listed_, DAY - timedelta(days=1)) == [NewHazard("c1", DAY, "Spray", ("aerosol",))]


@pytest.mark.parametrize(
    ("later", "months"), [(date(2026, 5, 1), 2), (date(2028, 2, 29), 23), (date(2025, 12, 31), -3)]
)
def test_months_between_are_counted_by_the_calendar_alone(later: date, months: int) -> None:
    assert months_between(DAY, later) == months


def test_days_in_time_are_added_kind_by_kind() -> None:
    assert DaysInTime(1, 2, 3) + DaysInTime(10, 20, 30) == DaysInTime(11, 22, 33)


@pytest.mark.parametrize(
    ("typed", "judged", "says"),
    [
        (None, Judged.MISSING, "Jets: no reading. Enter it, or say in the note why not."),
        ("4", Judged.GOOD, None),
    ],
)
def test_a_verdict_keeps_the_key_of_its_reading(typed: str | None, judged: Judged, says: str | None) -> None:
    spec = ReadingSpec("jets", "Jets", ReadingKind.NUMBER, low=1)
    (found,) = readings_verdict([spec], {} if typed is None else {"jets": typed}, {}, DAY)
    assert (found.key, found.judged) == ("jets", judged)
    assert says is None or found.sentence == says


@pytest.mark.parametrize(
    ("left", "days", "found"),
    [
        (0, 10, DaysUntil(0, 0.0, 0, "The mark is reached.")),
        (-1, 0, DaysUntil(0, 0.0, 0, "The mark is reached.")),
        (5, 0, DaysUntil(0, None, None, "No use recorded yet: no forecast.")),
    ],
)
def test_a_mark_reached_and_a_unit_never_used_need_no_forecast(left: int, days: float, found: DaysUntil) -> None:
    assert days_until(left, 0, days) == found


@pytest.mark.parametrize(("typed", "count"), [("", None), (None, None), ("1,200 CFU/mL", 1200)])
def test_a_count_that_was_not_typed_is_none(typed: str | None, count: int | None) -> None:
    found = count_read(typed)
    assert (found and found.cfu) == count


def test_a_treatment_that_took_less_than_a_tenth_away_is_still_told() -> None:
    """From more than 300 to 100: at least 0.48 log units, 66.67 % (S-91, R)."""
    assert treated(Count(300, too_many=True), Count(100), 1) == "at least 0.48 log units fewer than before (66.67 %)."


@pytest.mark.parametrize(
    ("left", "says"), [(1, "In time until 1 more part is made."), (2, "In time until 2 more parts are made.")]
)
def test_units_left_are_counted_in_the_words_of_the_task(left: int, says: str) -> None:
    span = UpkeepSpan(DAY, None, UpkeepState.IN_TIME, None, None, left)
    assert upkeep_sentence([span], DAY, word="parts", one="part") == says


def test_a_text_without_steps_needs_no_critical_one_and_keys_are_told_apart() -> None:
    twice = Question("q", QuestionWeight.SAFETY, "Why?", ("1", "2", "3", "4"), 0)
    steps = (Step("a", "Do it."), Step("a", "Do that."))
    assert content_faults(Content("")) == []
    assert content_faults(Content("", steps=steps, questions=(twice, twice))) == [
        "two steps have the key a: change one.", "two questions have the key q: change one.", NO_CRITICAL,
    ]  # fmt: skip


def test_a_site_fact_is_answered_left_out_or_asked_for() -> None:
    answers = {"tub": Answer("red"), "fan": Answer("", not_used=True)}
    assert filled("{tub}{fan}{key}", answers) == (
        Words("Red", "tub"), Words("the fan (not used here)", "fan"), Words("the key", "key", missing=True), Words(f" {OPEN}"),
    )  # fmt: skip


@pytest.mark.parametrize(("number", "says"), [(0, "no"), (12, "twelve"), (13, "13"), (-1, "-1")])
def test_small_numbers_are_written_out(number: int, says: str) -> None:
    assert number_words(number) == says


@pytest.mark.parametrize(
    ("words", "says"), [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (["a", "b", "c"], "a, b and c")]
)
def test_lists_read_as_people_write_them(words: list[str], says: str) -> None:
    assert listed(words) == says
