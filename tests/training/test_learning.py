"""A person's learning picture: advisory, quiet below enough data, one's own or for whoever reads the site."""

from datetime import timedelta
from typing import Any

import pytest

from tests.training.people_scene import TODAY, Scene, watched
from training.reads import learning as reads
from training.reads.learning import Learnt, learnt


def picture(scene: Scene, performances: int, people: int) -> Learnt:
    person = scene.cast.assistant.person
    rows = [watched(scene, person, "P01", TODAY - timedelta(days=n)) for n in range(performances)]
    return learnt("P01", rows, None, people)


@pytest.mark.parametrize(("performances", "people"), [(5, 10), (6, 9)])
def test_below_enough_people_or_performances_it_stays_quiet(scene: Scene, performances: int, people: int) -> None:
    found = picture(scene, performances, people)
    assert (found.quiet, found.alone, found.learning) == (True, None, None)


def test_with_enough_it_shows_the_chart_with_its_false_signal_rate(scene: Scene) -> None:
    found = picture(scene, 6, 10)
    assert found.learning is not None and found.learning.says.startswith("Advisory only: signal at performance")
    assert "% of the time would have got one by now" in found.learning.says
    assert found.alone_says.startswith("12 of 12 steps alone; 95 % interval 76 % to 100 %")


@pytest.mark.parametrize(("performances", "says"), [(5, ""), (6, "No critical miss so far.")])
def test_a_clean_record_is_spoken_of_quietly_and_only_with_enough(scene: Scene, performances: int, says: str) -> None:
    """Zero-failure sums (S-20 to S-26) beside the chart, and nothing below six performances (S-57)."""
    clean = picture(scene, performances, 10).clean
    assert clean.startswith(says) and bool(clean) is bool(says)


def test_one_sees_ones_own_and_nobody_elses(signed_in: Any, scene: Scene) -> None:
    watched(scene, scene.cast.assistant.person, "P01", TODAY)
    mine, other = (
        f"/millbrook-lane/people/{who.person.pk}/learning/" for who in (scene.cast.assistant, scene.cast.second)
    )
    assert "Too little to judge by." in signed_in(scene.cast.assistant).get(mine).content.decode()
    assert signed_in(scene.cast.assistant).get(other).status_code == 404
    assert "was not watched yet" in signed_in(scene.cast.coordinator).get(other).content.decode()


def test_what_there_is_enough_of_stands_before_what_there_is_too_little_of(
    scene: Scene, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reads, "may_judge", lambda people, performances: performances > 1)
    person = scene.cast.assistant.person
    for code, days in (("P01", 1), ("P03", 2), ("P04", 2)):
        for n in range(days):
            watched(scene, person, code, TODAY - timedelta(days=n))
    found = reads.learning_of(person, scene.cast.lane, TODAY)
    assert [(one.code, one.quiet) for one in found] == [("P03", False), ("P04", False), ("P01", True)]
