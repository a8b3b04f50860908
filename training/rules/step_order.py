"""The order in which steps are safe, read by what each step does.

A step of the library names its acts in the order in which it does them. From these it is told whether a hand goes in
before everything stands still, whether the tank is searched before it is drained, and so on. All of it is common practice,
no source; the maker's instructions win, so that the library is held to it, and a practice's own draft is only warned. A
step that names no act, as those that a practice writes, is read by its words.
"""

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from enum import StrEnum

from clinic.rules.words import begun, listed
from training.rules.texts import Step


class Act(StrEnum):
    """What a step does, where its place among the others matters."""

    STILL = "still"
    PARKED = "parked"
    BARRED = "barred"  # nobody can start a job from elsewhere
    OPEN = "open"
    HAND_IN = "hand in"
    SHUT = "shut"
    MOTION = "motion"
    WASH = "wash"
    DRY = "dry"
    COMPARE = "compare"
    REMOVE = "remove"
    DRAIN = "drain"
    SEARCH = "search"
    SCRUB = "scrub"
    UNPLUG = "unplug"
    PLUG_IN = "plug in"
    PUMP_ON = "pump on"
    PUMP_OFF = "pump off"
    GLOVES_OFF = "gloves off"
    HANDS_CLEAN = "hands clean"
    EYEWEAR_OFF = "eyewear off"
    RESPIRATOR_OFF = "respirator off"
    CHECK = "check"


READY = (Act.STILL, Act.PARKED, Act.BARRED, Act.OPEN)
MOVES = {Act.MOTION, Act.WASH, Act.PUMP_ON}
"""After these a hand waits again until everything stands still."""
BEFORE = {
    Act.REMOVE: (Act.COMPARE, "before it was compared"),
    Act.SEARCH: (Act.DRAIN, "before it was drained"),
    Act.SCRUB: (Act.SEARCH, "before it was searched"),
}
OFF = (Act.GLOVES_OFF, Act.HANDS_CLEAN, Act.EYEWEAR_OFF, Act.RESPIRATOR_OFF, Act.HANDS_CLEAN)
SHORT_OFF = tuple(act for act in OFF if act is not Act.RESPIRATOR_OFF)


TELLS = {
    Act.CHECK: r"\b(check|compare|inspect|judge|count) (that|the|code|clamp|block|label|each|every|them|tools|tool|with|it|its seal)\b",
    Act.GLOVES_OFF: r"off (the )?gloves", Act.EYEWEAR_OFF: r"off (the )?eyewear", Act.PLUG_IN: r"\bplug in\b(?! your)",
    Act.PUMP_ON: r"start the purge|run the jets|pump running", Act.PUMP_OFF: r"pump off", Act.UNPLUG: r"\bunplug\b(?! before)",
    Act.SCRUB: r"\bscrub\b", Act.WASH: r"\bwash (one|the chamber|off)", Act.OPEN: r"\bopen the door\b(?! slowly)",
    Act.REMOVE: r"draw it straight out",
}  # fmt: skip
"""Words that nobody writes without meaning it: a step of the library with them names the act."""
OWN_WORDS = TELLS | {
    Act.STILL: r"\bstands? still\b", Act.BARRED: r"from elsewhere", Act.DRAIN: r"\bdrain\b", Act.DRY: r"\bdry the (chamber|inside)\b",
    Act.HAND_IN: r"\b(reach|hands?) (in|into|inside)\b", Act.HANDS_CLEAN: r"clean (and dry )?your hands", Act.SHUT: r"\bshut the door\b",
    Act.PARKED: r"\bpark", Act.SEARCH: r"\bsearch the tank\b", Act.RESPIRATOR_OFF: r"off (the )?respirator",
}  # fmt: skip
"""The same for a step that a practice wrote, which names no act."""


def order_faults(steps: Sequence[Step]) -> list[str]:
    """Every way in which these steps are out of order, each with its remedy."""
    return [says for law in LAWS.values() for says in law(steps)]


def order_warnings(steps: Sequence[Step]) -> list[tuple[str, str]]:
    """The same of a practice’s own steps, as (law, sentence): read by their words where they name no act."""
    read = [step if step.acts else replace(step, acts=acts_told(step)) for step in steps]
    return [(title, begun(says)) for title, law in LAWS.items() for says in law(read)]


def acts_told(step: Step) -> tuple[Act, ...]:
    """What its words tell, in their order."""
    text = re.sub(r"[{}]", "", step.do).lower()
    found = {act: match.start() for act, words in OWN_WORDS.items() if (match := re.search(words, text))}
    return tuple(sorted(found, key=lambda act: found[act]))


def acts_of(steps: Sequence[Step]) -> list[tuple[int, Act]]:
    """Every act in its order, with the number of its step."""
    return [(number, Act(act)) for number, step in enumerate(steps, start=1) for act in step.acts]


def hands_in_too_early(steps: Sequence[Step]) -> Iterator[str]:
    """A hand goes in once everything stands still, is parked and barred from elsewhere, and the door was opened since."""
    done: set[Act] = set()
    for number, act in acts_of(steps):
        if act is Act.OPEN and not {Act.STILL, Act.PARKED} <= done:
            yield f"step {number} opens the door before all is still and parked: see to that first."
        if act in MOVES:
            done.clear()
        if act is Act.SHUT:
            done.discard(Act.OPEN)
        if act is Act.HAND_IN and (lacks := [each for each in READY if each not in done]):
            yield f"step {number} sends a hand in before it is {listed(lacks)}: have that done first."
        done.add(act)


def too_early(steps: Sequence[Step]) -> Iterator[str]:
    done: set[Act] = set()
    for number, act in acts_of(steps):
        if act in BEFORE and BEFORE[act][0] not in done:
            yield f"step {number} does “{act}” {BEFORE[act][1]}: have “{BEFORE[act][0]}” first."
        done.add(act)


def wash_after_dry(steps: Sequence[Step]) -> Iterator[str]:
    """What is washed is dried, and never the other way round."""
    both = [(number, act) for number, act in acts_of(steps) if act in (Act.WASH, Act.DRY)]
    if Act.WASH in (acts := [act for _, act in both]) and acts[-1] is Act.WASH:
        yield f"step {both[-1][0]} washes, and nothing is dried after it: wash first, then dry."
    if Act.WASH in acts and acts[0] is Act.DRY:
        yield f"step {both[0][0]} dries before the wash: wash first, then dry."


def pump_left_on(steps: Sequence[Step]) -> Iterator[str]:
    pump = [(number, act) for number, act in acts_of(steps) if act in (Act.PUMP_ON, Act.PUMP_OFF)]
    if pump and pump[-1][1] is Act.PUMP_ON:
        yield f"step {pump[-1][0]} starts the pump, and it stays on: switch it off again at the end."


def plug_left_out(steps: Sequence[Step]) -> Iterator[str]:
    plug = [(number, act) for number, act in acts_of(steps) if act in (Act.UNPLUG, Act.PLUG_IN)]
    if plug and plug[-1][1] is Act.UNPLUG:
        yield f"step {plug[-1][0]} pulls the plug, and nothing plugs in again: say when and how."


def taken_off_wrongly(steps: Sequence[Step]) -> Iterator[str]:
    """Gloves, hands, eyewear, respirator outside the dust, hands (row W-23 for the hands)."""
    off = [(number, act) for number, act in acts_of(steps) if act in OFF]
    if off and tuple(act for _, act in off) not in (OFF, SHORT_OFF):
        yield f"step {off[0][0]} takes protection off in another order: {listed([*OFF])}."


def no_if_not(steps: Sequence[Step]) -> Iterator[str]:
    """Each check says in the same step what is done where it is not so."""
    for number, step in enumerate(steps, start=1):
        if Act.CHECK in step.acts and " if " not in f" {step.do.lower()} {step.caution.lower()}":
            yield f"step {number} checks, and does not say what is done if it is not so: add “if …”."


LAWS: dict[str, Callable[[Sequence[Step]], Iterator[str]]] = {
    "Before a hand goes in": hands_in_too_early,
    "Compared before removed, drained before searched, searched before scrubbed": too_early,
    "Washed, then dried": wash_after_dry,
    "The pump off at the end": pump_left_on,
    "Plugged in again": plug_left_out,
    "Protection off in one order": taken_off_wrongly,
    "Each check has its “if not”": no_if_not,
}
