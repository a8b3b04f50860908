"""The one sentence of person × procedure × day, said alike on page, matrix, wall list, certificate, binder and JSON.

It answers "may work alone?" first, then says until when, what follows and why:

    Yes, through 22 January 2027; then on hold, because Sharps injury response (P13) ends.
    Only with somebody standing by: on hold, because Sharps injury response (P13) does not hold.
    No: withdrawn on 3 March 2026.

Reading of the text: "only with somebody standing by" is said of learning, ready, on hold and lapsed, where the person has
been shown the work; "no" of untrained and withdrawn. Nobody stands by at a taught topic, so there it is yes or no.

A hold says what it waits for and no day: several prerequisites may fail one after the other, and the stretch that names one
of them need not be the one in which the hold began.
"""

from collections.abc import Mapping
from datetime import timedelta

from clinic.rules.words import day_words
from training.rules.facts import Ending, State
from training.rules.standing import StandingSpan
from training.rules.wording import LAPSES, STANDING_BY, named

YES, STAND_BY, NO = "Yes", "Only with somebody standing by", "No"
THEN = {
    Ending.WITHDRAWAL: "withdrawn",
    Ending.DEADLINE: "lapsed, because version {by} asks to be watched again by that day",
    Ending.IDLE: "lapsed, because the idle days are over, with no performance since",
    Ending.VALID_UNTIL: "lapsed, because its validity ends",
    Ending.PREREQUISITE: "on hold, because {by} ends",
}
NOT_SIGNED = {
    State.READY: "never signed, and the evidence is enough to sign",
    State.LEARNING: "never signed, and some evidence is there",
    State.UNTRAINED: "never signed, and no evidence yet",
}
NOT_TAUGHT = "not taught in a session that counts"


def answer(state: State, *, is_topic: bool = False) -> str:
    """May the person work alone at it, or for a topic, is the person good in it?"""
    if state.is_usable:
        return YES
    return STAND_BY if state in STANDING_BY and not is_topic else NO


def sentence(span: StandingSpan, titles: Mapping[str, str], *, is_topic: bool = False) -> str:
    """The sentence of the stretch that holds on the day. `titles`: of procedures, by code."""
    says = answer(span.state, is_topic=is_topic)
    if span.state.is_usable:
        return f"{says}, {lasts(span, titles)}."
    return f"{says}: {why_not(span, titles, is_topic=is_topic)}."


def lasts(span: StandingSpan, titles: Mapping[str, str]) -> str:
    """Through which day it holds, what follows and why."""
    if span.ends_on is None or span.ends_because is None:
        return "and nothing known ends it"
    by = span.ends_by or ""
    if span.ends_because is Ending.PREREQUISITE:
        by = named(by, titles)
    return f"through {day_words(span.ends_on)}; then {THEN[span.ends_because].format(by=by)}"


def ending_here(span: StandingSpan, titles: Mapping[str, str]) -> str:
    """What ends a good stretch, where its last day is the last good one; empty where a further good stretch follows it."""
    is_last = span.after is not None and span.after - timedelta(days=1) == span.ends_on
    return f"Good {lasts(span, titles)}." if span.state.is_usable and is_last else ""


def why_not(span: StandingSpan, titles: Mapping[str, str], *, is_topic: bool) -> str:
    """Why it does not hold."""
    word, _, which = (span.cause or "").partition(":")
    if span.state is State.ON_HOLD:
        return f"on hold, because {named(which, titles)} does not hold"
    if span.state is State.LAPSED:
        return f"lapsed since {day_words(span.first)}, because {LAPSES[Ending(word)].format(by=which)}"
    if span.state is State.WITHDRAWN:
        return f"withdrawn on {day_words(span.first)}"
    return NOT_TAUGHT if is_topic else NOT_SIGNED[span.state]
