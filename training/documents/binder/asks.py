"""What an inspector asks, answered from plain counts: what the register keeps, or where something else is kept.

No answer says that a law asks for it, nor what an inspection would find. A source cited from memory says so.
"""

from dataclasses import dataclass

from training.documents.paper import said, short

from .content import KeptRow, Question

CHECK = "check the current text"


@dataclass(frozen=True, slots=True)
class Known:
    """The counts behind the answers, for the period unless said otherwise. Days are ISO, empty for none.

    `may`, `people`: on the day, who may work alone at something, of all on the roster. `holes`: taught sessions that
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
    voluntary: bool = True
    spores: int = 0
    spores_bad: int = 0
    spores_late: int = 0
    lines: int = 0
    lines_over: int = 0
    sampled: str = ""
    entries: int = 0
    late_days: int = 0
    helped: int = 0
    alone: int = 0
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


def standard(known: Known) -> list[Question]:
    """The sixteen questions in the order in which they are usually put (common practice, no source)."""
    return [*_people(known), *_taught(known), *_equipment(known), *_record(known)]


def several(count: int, one: str, many: str = "") -> str:
    """1 session, 2 sessions, no sessions."""
    return f"{f'{count:,}' if count else 'no'} {one if count == 1 else many or one + 's'}"


def _people(k: Known) -> list[Question]:
    return [
        Question(
            "Who may be left alone with what, on this day?",
            _none(k.people, "Nobody was on the roster on this day.")
            or f"{k.may} of {k.people} on the roster may work alone at something; the page shows each at what.",
            "matrix",
            "",
        ),
        Question(
            "Who watched them, and how often?",
            _none(k.performances, "Nobody was watched in the period.")
            or f"{_big(several(k.performances, 'performance'))} watched by {several(k.watchers, 'person', 'people')}"
            f"{f', {k.outside} of them from outside' if k.outside else ''}; each person’s record names them.",
            "people",
            "",
        ),
        Question(
            "Who may sign, and by whose authority?",
            _none(k.signers, "Nobody holds authority on this day.")
            or f"{_big(several(k.signers, 'person', 'people'))} on this day, with what each authority starts from; "
            f"{several(k.founding, 'founding grant')}.",
            "authority",
            "",
        ),
        Question(
            "From which text did they learn, and who approved it?",
            _none(k.texts, "No text was in force on this day.")
            or f"{_big(several(k.texts, 'text'))} in force, printed in full; {k.texts_checked} checked against the maker’s "
            "instructions.",
            "procedures",
            "",
        ),
    ]


def _taught(k: Known) -> list[Question]:
    return [
        Question(
            "Is the training record complete?",
            _none(k.sessions, "No session was recorded in the period.")
            or f"{k.sessions - k.holes} of {several(k.sessions, 'session')} with dates, contents, the trainer and the "
            "qualification, and everyone’s name and job title.",
            "taught",
            "",
            "29 CFR 1910.1030(h)(2)(i)",
        ),
        Question(
            "Was bloodborne-pathogen training repeated within a year?",
            _none(k.topic_asked, "It is asked of nobody on this roster.")
            or f"Good on this day: {k.topic_good} of {k.topic_asked} of whom it is asked.",
            "taught",
            "",
            f"29 CFR 1910.1030(g)(2); paragraph letters from memory, {CHECK}",
        ),
        Question(
            "Could those who were taught ask questions live?",
            _none(k.sessions, "No session was recorded in the period.")
            or f"In {k.sessions - k.unasked} of {several(k.sessions, 'session')}. A quiz alone is not counted.",
            "taught",
            "",
            f"29 CFR 1910.1030(g)(2)(vii)(N), from memory: {CHECK}",
        ),
        Question(
            "Where is the exposure control plan, and when was it reviewed?",
            _reviewed(k.plan),
            "",
            k.plan.place if k.plan and k.plan.place else "place not noted",
            "29 CFR 1910.1030(c)(1)",
        ),
        Question(
            "Is there a log of sharps injuries that names nobody?",
            _none(k.events + k.near, "No event was recorded in the period.")
            or f"{_big(several(k.events, 'event'))} and {several(k.near, 'near miss', 'near misses')}, without names"
            f"{'; kept voluntarily' if k.voluntary else ''}.",
            "events",
            "",
            f"29 CFR 1910.1030(h)(5), part from memory: {CHECK}",
        ),
    ]


def _equipment(k: Known) -> list[Question]:
    return [
        Question(
            "Were spore tests run weekly, with a control of the same lot?",
            _none(k.spores, "No spore test was recorded in the period.")
            or f"{_big(several(k.spores, 'test'))}, {k.spores_bad} failed or invalid, "
            f"{several(k.spores_late, 'week')} late.",
            "spores",
            "",
            "CDC guidelines for dental settings, 2003: at least weekly",
        ),
        Question(
            "Is each dental-unit water line within its limit?",
            _none(k.lines, "No line was sampled in the period.")
            or f"{k.lines - k.lines_over} of {several(k.lines, 'line')} at the last reading"
            f"{f', {said(k.sampled)}' if k.sampled else ''}, at most 500 CFU/mL or the maker’s lower limit.",
            "water",
            "",
            "CDC 2003 and 2016, a recommendation; the mill’s tank is listed apart",
        ),
        Question(
            "Was upkeep done in time, by somebody allowed to?",
            _none(k.entries, "No upkeep was recorded in the period.")
            or f"{_big(several(k.entries, 'entry', 'entries'))}, {several(k.late_days, 'late day')} in all; {k.helped} with "
            f"somebody standing by, {k.alone} by somebody not usable with nobody usable standing by.",
            "upkeep",
            "",
        ),
        Question(
            "Were the torque drivers verified?",
            _none(k.drivers, "No torque driver is on the register.")
            or f"{k.drivers_good} of {k.drivers} good on this day; each verification is listed.",
            "drivers",
            "",
        ),
    ]


def _record(k: Known) -> list[Question]:
    seal = "every seal whole" if k.whole else "the seals are not known to be whole"
    return [
        Question(
            "What was found, and what was done about it?",
            _none(k.found, "No finding was open in the period.")
            or f"{_big(several(k.found, 'finding'))}, {k.ended} ended; what ends each of the others stands beside it.",
            "findings",
            "",
        ),
        Question(
            "What is not in here, and where is it?",
            _none(k.kept, "Nothing is noted as kept elsewhere.")
            or f"{_big(several(k.kept, 'thing'))} kept elsewhere, with place, keeper and last review.",
            "kept",
            "",
        ),
        Question(
            "Can this record have been changed?",
            _none(k.facts, "The register holds no fact yet.")
            or f"{_big(several(k.facts, 'fact'))}; {seal}{f', checked {short(k.checked)}' if k.checked else ''}.",
            "integrity",
            "",
        ),
    ]


def _big(words: str) -> str:
    return words[:1].upper() + words[1:]


def _none(count: int, words: str) -> str:
    return "" if count else words


def _reviewed(plan: KeptRow | None) -> str:
    if plan is None:
        return "It is not part of the register, and where it is kept has not been noted."
    return f"Kept by {plan.keeper or 'nobody named'}. " + (
        f"Last review noted: {said(plan.reviewed)}." if plan.reviewed else "No review is noted."
    )
