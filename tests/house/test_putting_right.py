"""Every kind of fact says how it is put right: who takes it back, or what is done instead."""

from django.apps import apps

from clinic.models import Fact
from training.views.correcting import BY_VERB, OTHERWISE, WHO_ELSE


def kinds() -> set[str]:
    return {model.fact_kind() for model in apps.get_models() if issubclass(model, Fact)}


def unsaid(kinds: set[str]) -> set[str]:
    return kinds - set(WHO_ELSE) - set(OTHERWISE)


def test_no_kind_of_fact_is_without_a_word_on_how_it_is_put_right() -> None:
    assert unsaid(kinds()) == set()


def test_nothing_is_said_of_kinds_that_are_not_there_and_nothing_twice() -> None:
    assert (set(WHO_ELSE) | set(OTHERWISE)) - kinds() == set()
    assert set(WHO_ELSE) & set(OTHERWISE) == set()
    assert set(WHO_ELSE.values()) <= set(BY_VERB)


def test_the_check_finds_a_new_kind() -> None:
    assert unsaid({*kinds(), "clinic.newfact"}) == {"clinic.newfact"}
