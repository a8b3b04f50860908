"""What an inspector asks, answered from plain counts: what the register keeps, or where something else is kept.

No answer says that a law asks for it, nor what an inspection would find. A source cited from memory says so.
"""

from dataclasses import dataclass

from clinic.rules.words import begun, counted
from training.documents.paper import said, short

from .content import KeptRow, Question

CHECK = "check the current text"
NO_SESSION = "No session was recorded in the period."


@dataclass(frozen=True, slots=True)
class BinderCounts:
    """The counts behind the answers, for the period unless said otherwise. Days are ISO, empty for none.

    `may`, `people`: who may work alone at something, of all in the matrix of the day. `performances`: observations printed.
    `verified`: verifications of torque drivers that are listed. `holes`: taught sessions that
    lack a date, contents, the trainer's qualification, or a name or job title. `topic_good`, `topic_asked`: people good
    in bloodborne pathogens on the day, of those asked. `lines_over`: lines whose last reading was over their limit.
    `helped`: entries by somebody not usable with a usable person standing by; `alone`: with nobody.
    """

    people: int = 0
    may: int = 0
    performances: int = 0
    watchers: int = 0
    outside: int = 0
    signers: int = 0
    founding: int = 0
    sessions: int = 0
    holes: int = 0
    topic_asked: int = 0
    topic_good: int = 0
    unasked: int = 0
    events: int = 0
    near: int = 0
    logged: int = 0
    voluntary: bool = True
    spores: int = 0
    spores_bad: int = 0
    lines: int = 0
    lines_over: int = 0
    sampled: str = ""
    entries: int = 0
    late_days: int = 0
    helped: int = 0
    alone: int = 0
    verified: int = 0
    drivers: int = 0
    drivers_good: int = 0
    texts: int = 0
    texts_checked: int = 0
    found: int = 0
    ended: int = 0
    facts: int = 0
    whole: bool = False
    checked: str = ""
    plan: KeptRow | None = None
    kept: int = 0


def standard(known: BinderCounts) -> list[Question]:
    """The sixteen questions in the order in which they are usually put (common practice, no source)."""
    return [ask(known) for ask in ASKED]


def several(count: int, one: str, many: str = "") -> str:
    """1 session, 2 sessions, no sessions."""
    return counted(count, one, many) if count else f"no {many or one + 's'}"


def _left_alone(k: BinderCounts) -> Question:
    none = _none(k.people, "Nobody is in the matrix of this day.")
    says = f"{k.may} of {k.people} in the matrix may work alone at something; the page shows each at what."
    return Question("Who may be left alone with what, on this day?", none or says, "matrix", "")


def _watched(k: BinderCounts) -> Question:
    none = _none(k.performances, "Nobody was watched in the period.")
    outside = f", {k.outside} of them from outside" if k.outside else ""
    seen, people = several(k.performances, "observation"), several(k.watchers, "person", "people")
    says = f"{begun(seen)} by {people}{outside}; each person’s record names them."
    return Question("Who watched them, and how often?", none or says, "people", "")


def _sign(k: BinderCounts) -> Question:
    none = _none(k.signers, "Nobody holds authority on this day.")
    who, founding = several(k.signers, "person", "people"), several(k.founding, "founding grant")
    says = f"{begun(who)} {'holds' if k.signers == 1 else 'hold'} authority on this day; the page says what each starts from; {founding}."
    return Question("Who may sign, and by whose authority?", none or says, "authority", "")


def _text(k: BinderCounts) -> Question:
    none = _none(k.texts, "No text was in force on this day.")
    texts = begun(several(k.texts, "text"))
    says = f"{texts} in force, printed in full; {k.texts_checked} checked against the maker’s instructions."
    return Question("From which text did they learn, and who approved it?", none or says, "procedures", "")


def _complete(k: BinderCounts) -> Question:
    says = _none(k.sessions, NO_SESSION) or (
        f"{k.sessions - k.holes} of {several(k.sessions, 'session')} with dates, contents, the trainer and the "
        "qualification, and everyone’s name and job title."
    )
    return Question("Is the training record complete?", says, "taught", "", "29 CFR 1910.1030(h)(2)(i)")


def _pathogens(k: BinderCounts) -> Question:
    none = _none(k.topic_asked, "Nobody on this roster needs it.")
    says = f"Good on this day: {k.topic_good} of {k.topic_asked} who need it."
    source = f"29 CFR 1910.1030(g)(2); paragraph letters from memory, {CHECK}"
    return Question("Was bloodborne-pathogen training repeated within a year?", none or says, "taught", "", source)


def _live(k: BinderCounts) -> Question:
    none = _none(k.sessions, NO_SESSION)
    says = f"In {k.sessions - k.unasked} of {several(k.sessions, 'session')}. A quiz alone is not counted."
    source = f"29 CFR 1910.1030(g)(2)(vii)(N), from memory: {CHECK}"
    return Question("Could those who were taught ask questions live?", none or says, "taught", "", source)


def _plan(k: BinderCounts) -> Question:
    place = k.plan.place if k.plan and k.plan.place else "place not noted"
    ask = "Where is the exposure control plan, and when was it reviewed?"
    return Question(ask, _reviewed(k.plan), "", place, "29 CFR 1910.1030(c)(1)")


def _injuries(k: BinderCounts) -> Question:
    none = _none(k.events + k.near, "No event was recorded in the period.")
    counts = f"{begun(several(k.events, 'event'))} and {several(k.near, 'near miss', 'near misses')}"
    soiled = f"{several(k.logged, 'injury', 'injuries')} by a sharp that was contaminated or may have been"
    says = f"{counts}, without names; {soiled}{'; kept voluntarily' if k.voluntary else ''}."
    source = f"29 CFR 1910.1030(h)(5), part from memory: {CHECK}"
    return Question("Is there a log of sharps injuries that names nobody?", none or says, "events", "", source)


def _spores(k: BinderCounts) -> Question:
    none = _none(k.spores, "No spore test was recorded in the period.")
    says = (
        f"{begun(several(k.spores, 'test'))}, {k.spores_bad} failed or invalid; the days on which one was overdue stand "
        "under the days in time."
    )
    ask, source = (
        "Were spore tests run weekly, with a control of the same lot?",
        "CDC guidelines for dental settings, 2003: at least weekly",
    )
    return Question(ask, none or says, "spores", "", source)


def _lines(k: BinderCounts) -> Question:
    none = _none(k.lines, "No line was sampled in the period.")
    last = f", {said(k.sampled)}" if k.sampled else ""
    good = f"{k.lines - k.lines_over} of {several(k.lines, 'line')}"
    says = f"{good} at the last reading{last}, at most 500 CFU/mL or the maker’s lower limit."
    source = "CDC 2003 and 2016, a recommendation; the mill’s tank is listed apart"
    return Question("Is each dental-unit water line within its limit?", none or says, "water", "", source)


def _upkeep(k: BinderCounts) -> Question:
    says = _none(k.entries + k.late_days, "No upkeep was recorded in the period.") or (
        f"{begun(several(k.entries, 'entry', 'entries'))}; {several(k.late_days, 'late day')} in all; {k.helped} with "
        f"somebody standing by, {k.alone} by somebody who did not hold it, with nobody who did standing by."
    )
    return Question("Was upkeep done in time, by somebody allowed to?", says, "upkeep", "")


def _drivers(k: BinderCounts) -> Question:
    none = _none(k.drivers, "No torque driver is on the register.")
    listed = f"{several(k.verified, 'verification')} in the period {'is' if k.verified == 1 else 'are'} listed."
    says = f"{k.drivers_good} of {k.drivers} good on this day; {listed}"
    return Question("Were the torque drivers verified?", none or says, "drivers", "")


def _found(k: BinderCounts) -> Question:
    none = _none(k.found, "No finding stood in the period.")
    says = f"{begun(several(k.found, 'finding'))}, {k.ended} ended or explained; what ends each of the others stands beside it."
    return Question("What was found, and what was done about it?", none or says, "findings", "")


def _elsewhere(k: BinderCounts) -> Question:
    none = _none(k.kept, "Nothing is noted as kept elsewhere.")
    says = f"{begun(several(k.kept, 'thing'))} kept elsewhere, with place, keeper and last review."
    return Question("What is not in here, and where is it?", none or says, "kept", "")


def _changed(k: BinderCounts) -> Question:
    none = _none(k.facts, "The register holds no fact yet.")
    seal = "every seal whole" if k.whole else "some seals do not hold; the page says which"
    checked = f", checked {short(k.checked)}" if k.checked else ""
    says = f"{begun(several(k.facts, 'fact'))}; {seal}{checked}."
    return Question("Can this record have been changed?", none or says, "integrity", "")


def _none(count: int, words: str) -> str:
    return "" if count else words


def _reviewed(plan: KeptRow | None) -> str:
    if plan is None:
        return "It is not part of the register, and where it is kept has not been noted."
    return f"Kept by {plan.keeper or 'nobody named'}. " + (
        f"Last review noted: {said(plan.reviewed)}." if plan.reviewed else "No review is noted."
    )


ASKED = (
    _left_alone, _watched, _sign, _text, _complete, _pathogens, _live, _plan, _injuries, _spores, _lines, _upkeep, _drivers,
    _found, _elsewhere, _changed,
)  # fmt: skip
