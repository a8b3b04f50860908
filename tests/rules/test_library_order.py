"""The order of steps in which nobody is hurt and no part is spoilt, over every procedure of the library.

All of it is common practice, no source, but W-23 (hands cleaned after gloves: CDC 2003). Each law is seen to fail on steps
made for it; and the acts that a step names are held against its words, so that no mark stands in for a sentence.
"""

import re
from pathlib import Path

import pytest

from training.rules.library import read_library
from training.rules.step_order import LAWS, OFF, SHORT_OFF, TELLS, Act, acts_told, order_faults, order_warnings
from training.rules.texts import ProcedureText, Step

LIBRARY = read_library(Path(__file__).parents[2] / "fixtures" / "library")
PRACTICE = [text for text in LIBRARY.procedures if text.kind == "practice"]
MOST_TAPS, FEWEST_TAPS = 13, 8

WORDS = {
    Act.STILL: r"still", Act.PARKED: r"park", Act.BARRED: r"from elsewhere", Act.OPEN: r"open the door|door open",
    Act.HAND_IN: r"hand|tweezers|clean|dry|wipe|inspect|tool|pin", Act.SHUT: r"shut",
    Act.MOTION: r"run |routine|check", Act.WASH: r"\bwash", Act.DRY: r"\bdry\b", Act.COMPARE: r"compare",
    Act.REMOVE: r"draw it", Act.DRAIN: r"drain", Act.SEARCH: r"search", Act.SCRUB: r"scrub",
    Act.UNPLUG: r"unplug", Act.PLUG_IN: r"plug in", Act.PUMP_ON: r"start|run|purge",
    Act.PUMP_OFF: r"pump off|stop the pump", Act.GLOVES_OFF: r"off (the )?gloves",
    Act.HANDS_CLEAN: r"clean (and dry )?your hands", Act.EYEWEAR_OFF: r"off (the )?eyewear",
    Act.RESPIRATOR_OFF: r"respirator", Act.CHECK: r"\bif\b",
}  # fmt: skip
"""What a step says that does this."""


def says(step: Step) -> str:
    """Its words, with the names of the site's facts and not what those say."""
    return re.sub(r"[{}]", "", step.do).lower()


@pytest.fixture(params=PRACTICE, ids=lambda text: text.code)
def text(request: pytest.FixtureRequest) -> ProcedureText:
    found: ProcedureText = request.param
    return found


def test_every_order_law_holds(text: ProcedureText) -> None:
    assert order_faults(text.content.steps) == []


def test_a_step_says_in_words_each_act_that_it_names(text: ProcedureText) -> None:
    unsaid = [
        (step.key, act)
        for step in text.content.steps
        for act in step.acts
        if not re.search(WORDS[Act(act)], says(step))
    ]
    assert unsaid == []


def test_a_step_names_each_act_that_its_words_tell(text: ProcedureText) -> None:
    unnamed = [
        (step.key, act)
        for step in text.content.steps
        for act, words in TELLS.items()
        if re.search(words, says(step)) and act not in step.acts
    ]
    assert unnamed == []


INSIDE = re.compile(r"tweezers|nozzle|vacuum|loosen|draw it|seat it|wipe the seat|fitted edge")


def test_nothing_inside_the_unit_is_touched_before_its_door_was_opened(text: ProcedureText) -> None:
    """Held by words alone, so that a forgotten “hand in” is found."""
    if text.equipment_kind != "milling unit" or not any(Act.HAND_IN in step.acts for step in text.content.steps):
        return
    open_at = next(i for i, step in enumerate(text.content.steps) if Act.OPEN in step.acts)
    assert [step.key for step in text.content.steps[:open_at] if INSIDE.search(says(step))] == []


def test_whoever_puts_gloves_on_is_told_how_protection_comes_off(text: ProcedureText) -> None:
    puts_on = any(re.search(r"put on .*gloves|new gloves", says(step)) for step in text.content.steps)
    takes_off = any(Act.GLOVES_OFF in step.acts for step in text.content.steps)
    assert takes_off or not puts_on


def test_where_a_respirator_goes_on_it_comes_off_outside_the_dust(text: ProcedureText) -> None:
    if not any("respirator" in step.do and "put on" in step.do.lower() for step in text.content.steps):
        return
    (off,) = [step for step in text.content.steps if Act.RESPIRATOR_OFF in step.acts]
    assert off.critical and "dust" in off.do


def test_a_procedure_has_between_8_and_13_steps_to_tap(text: ProcedureText) -> None:
    assert FEWEST_TAPS <= len(text.content.steps) <= MOST_TAPS


def test_at_most_four_steps_in_five_are_critical(text: ProcedureText) -> None:
    """Own choice (D): where all is critical, nothing is."""
    assert 5 * sum(step.critical for step in text.content.steps) <= 4 * len(text.content.steps)


def test_hands_that_go_in_are_critical_and_so_is_what_comes_before(text: ProcedureText) -> None:
    lax = [s.key for s in text.content.steps if {Act.BARRED, Act.STILL} & set(s.acts) and not s.critical]
    assert lax == [] or text.code == "P09"


def test_a_dry_only_unit_is_never_rinsed_and_that_is_critical() -> None:
    (wash,) = [step for text in PRACTICE if text.returns == ("milling unit",) for step in text.content.steps if Act.WASH in step.acts]  # fmt: skip
    assert wash.critical and wash.do.startswith("Leave a dry-only unit dry")


# -- each law, seen to fail -------------------------------------------------------------------------------------------


def steps(*acts: list[Act], do: str = "Do it.") -> list[Step]:
    return [Step(f"s{n}", do, acts=tuple(each)) for n, each in enumerate(acts, start=1)]


A = Act
GOES_IN = [A.STILL, A.PARKED, A.BARRED, A.OPEN, A.HAND_IN]


def test_a_hand_goes_in_after_still_parked_barred_and_opened() -> None:
    assert order_faults(steps(GOES_IN)) == []


@pytest.mark.parametrize("lacks", [A.BARRED, A.OPEN])
def test_a_hand_that_goes_in_too_early_is_told(lacks: Act) -> None:
    (told,) = order_faults(steps([act for act in GOES_IN if act is not lacks]))
    assert told == f"step 1 sends a hand in before it is {lacks}: have that done first."


@pytest.mark.parametrize("moves", [A.MOTION, A.WASH, A.PUMP_ON])
def test_after_a_motion_all_of_it_is_asked_again(moves: Act) -> None:
    told = order_faults(steps(GOES_IN, [A.SHUT, moves], [A.HAND_IN, A.DRY, A.PUMP_OFF]))
    assert told == ["step 3 sends a hand in before it is still, parked, barred and open: have that done first."]


def test_a_door_that_was_shut_is_opened_again() -> None:
    assert order_faults(steps(GOES_IN, [A.SHUT], [A.HAND_IN])) == [
        "step 3 sends a hand in before it is open: have that done first."
    ]


def test_a_door_that_opens_before_all_is_still_is_told() -> None:
    assert order_faults(steps([A.OPEN], [A.STILL, A.PARKED])) == [
        "step 1 opens the door before all is still and parked: see to that first."
    ]


@pytest.mark.parametrize(
    ("first", "then", "word"),
    [
        (A.COMPARE, A.REMOVE, "compared"),
        (A.DRAIN, A.SEARCH, "drained"),
    ],
)
def test_what_comes_too_early_is_told(first: Act, then: Act, word: str) -> None:
    assert order_faults(steps([first], [then])) == []
    assert order_faults(steps([then], [first])) == [f"step 1 does “{then}” before it was {word}: have “{first}” first."]


def test_a_hand_scrubs_only_what_was_searched() -> None:
    assert order_faults(steps([A.DRAIN], [A.SCRUB], [A.SEARCH])) == [
        "step 2 does “scrub” before it was searched: have “search” first."
    ]


@pytest.mark.parametrize("wrong", [[A.DRY, A.WASH], [A.WASH], [A.DRY, A.WASH, A.DRY]])
def test_dry_before_wash_is_told(wrong: list[Act]) -> None:
    assert any("wash first, then dry" in told for told in order_faults(steps(wrong)))


def test_a_pump_that_stays_on_is_told() -> None:
    assert order_faults(steps([A.PUMP_OFF], [A.PUMP_ON])) == [
        "step 2 starts the pump, and it stays on: switch it off again at the end."
    ]


def test_a_plug_that_stays_out_is_told() -> None:
    assert "nothing plugs in again" in order_faults(steps([A.UNPLUG]))[0]


@pytest.mark.parametrize("order", [OFF, SHORT_OFF])
def test_protection_comes_off_in_one_order(order: tuple[Act, ...]) -> None:
    assert order_faults(steps(*[[act] for act in order])) == []


@pytest.mark.parametrize(
    "order",
    [
        SHORT_OFF[:-1],
        (A.GLOVES_OFF, A.EYEWEAR_OFF, A.HANDS_CLEAN),
        (A.RESPIRATOR_OFF, *SHORT_OFF),
        (A.GLOVES_OFF, A.HANDS_CLEAN),
    ],
)
def test_protection_in_another_order_is_told(order: tuple[Act, ...]) -> None:
    (told,) = order_faults(steps(list(order)))
    assert told.startswith("step 1 takes protection off in another order: gloves off, hands clean, eyewear off")


def test_a_check_without_its_if_not_is_told() -> None:
    assert order_faults(steps([A.CHECK], do="Check it; if it is wrong, stop.")) == []
    assert "does not say what is done" in order_faults(steps([A.CHECK], do="Check it."))[0]


# -- a practice's own steps, which name no act ------------------------------------------------------------------------


def test_own_steps_are_read_by_their_words_and_warned_by_step_and_law() -> None:
    own = [
        Step("s1", "Open the door and reach in for the block."),
        Step("s2", "Check the seal."),
        Step("s3", "Start the purge."),
    ]
    warned = order_warnings(own)
    assert [(law, says.split()[1]) for law, says in warned] == [
        ("Before a hand goes in", "1"),
        ("Before a hand goes in", "1"),
        ("The pump off at the end", "3"),
        ("Each check has its “if not”", "2"),
    ]
    assert all(says.startswith("Step ") for _, says in warned) and not order_faults(own)


def test_own_steps_in_a_safe_order_are_not_warned_about() -> None:
    own = "See it stand still, park it, and see that nobody starts a job from elsewhere. | Open the door. | Reach in with tweezers."
    assert order_warnings([Step(f"s{n}", do) for n, do in enumerate(own.split(" | "))]) == []


def test_acts_are_told_in_the_order_of_the_words() -> None:
    assert acts_told(Step("s1", "Take off the gloves, clean your hands, take off the eyewear.")) == (
        A.GLOVES_OFF, A.HANDS_CLEAN, A.EYEWEAR_OFF,
    )  # fmt: skip


def test_a_step_that_names_its_acts_is_not_read_by_words() -> None:
    assert order_warnings([Step("s1", "Reach in.", acts=tuple(GOES_IN))]) == []


def test_every_law_finds_nothing_in_no_steps() -> None:
    assert len(LAWS) == 7 and order_warnings([]) == []
