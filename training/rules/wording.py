"""The words of standing: one for each state, basis and piece, used by page, paper and refusal alike. The sentence of
person × procedure × day is made of them in `training.rules.sentence`.

`names` maps procedure codes to titles in running text ("clamping a block"); a code without a title stands alone.
"""

from collections.abc import Iterable, Mapping

from clinic.rules.words import begun, day_words, listed, number_words, several
from training.rules.evidence import Piece, PieceKind
from training.rules.facts import Basis, Ending, Evidence, Method, Outcome, State
from training.rules.standing import StandingSpan

NO_NAMES: Mapping[str, str] = {}

NOT_HELD = {
    State.WITHDRAWN: "The sign-off was withdrawn.",
    State.READY: "Never signed; the evidence is enough to sign.",
    State.LEARNING: "Never signed; some evidence is there.",
    State.UNTRAINED: "Never signed, and no evidence yet.",
}
BASES = {
    Basis.OBSERVED: "signed after observation",
    Basis.TAUGHT: "taught in a session that counts",
    Basis.CARRIED_OVER: "carried over from before the register",
    Basis.FOUNDING: "by a founding grant",
}
HELD_BY: Mapping[Basis | None, str] = {
    Basis.OBSERVED: "Signed",
    Basis.TAUGHT: "Taught",
    Basis.CARRIED_OVER: "Carried over",
    Basis.FOUNDING: "Granted at the founding",
}
HOLDS = {State.DUE: "renewal is due", State.CURRENT: "current"}
EVIDENCES = {
    Evidence.NONE: "No evidence that counts today.",
    Evidence.SOME: "Some evidence is there, not yet enough.",
    Evidence.ENOUGH: "The evidence is enough to sign.",
}
METHODS = {
    Method.REAL: "real work",
    Method.PRACTICE: "practice piece",
    Method.DRILL: "drill",
    Method.RECORDS: "records review",
    Method.TALK: "what-if talk",
}
STANDING_BY = frozenset({State.LEARNING, State.READY, State.ON_HOLD, State.LAPSED})


def named(code: str, names: Mapping[str, str] = NO_NAMES) -> str:
    """Clamping a block (P04)."""
    return f"{names[code]} ({code})" if code in names else code


def cause_sentence(span: StandingSpan, names: Mapping[str, str] = NO_NAMES) -> str:
    """Why the span has its state: the state's sentence, with what caused it where that is no single fact."""
    word, _, which = (span.cause or "").partition(":")
    if span.state is State.ON_HOLD:
        return f"On hold since {day_words(span.first)}, because {named(which, names)} does not hold."
    if span.state is State.LAPSED:
        return f"Lapsed since {day_words(span.first)}, because {LAPSES[Ending(word)].format(by=which)}."
    if span.state.is_usable:
        return f"{HELD_BY[span.basis]}, and {HOLDS[span.state]}."
    return NOT_HELD[span.state]


LAPSES = {
    Ending.DEADLINE: "version {by} asked to be watched again by the day before",
    Ending.IDLE: "the idle days were over, with no performance since",
    Ending.VALID_UNTIL: "its validity ended the day before",
}


def codes_in_runs(codes: Iterable[str]) -> str:
    """P01 to P04, P06, T01, T02: three and more in a row are said by the first and the last."""
    runs: list[list[str]] = []
    for code in sorted(codes):
        if runs and is_next(runs[-1][-1], code):
            runs[-1].append(code)
        else:
            runs.append([code])
    return ", ".join(f"{run[0]} to {run[-1]}" if len(run) > 2 else ", ".join(run) for run in runs)


def is_next(code: str, other: str) -> bool:
    """P05 is next to P04; what is no letters and a number is next to nothing."""
    (letters, number), (others, after) = split(code), split(other)
    return bool(number and after) and letters == others and int(after) == int(number) + 1


def split(code: str) -> tuple[str, str]:
    letters = code.rstrip("0123456789")
    return letters, code[len(letters) :]


PRACTISED = {
    Outcome.MET: "practised; nothing missed",
    Outcome.NOT_MET: "practised; help was needed",
    Outcome.INCOMPLETE: "practised; not all of it was seen",
}


def outcome_words(outcome: str, *, practice: bool, stopped: bool = False, critical_miss: bool = False) -> str:
    """What an observation came to. Practice is never met: it shows nothing but that it was practised, and how it went."""
    if stopped:
        return f"{'practised' if practice else Outcome(outcome).value}; stopped as unsafe"
    if practice:
        return PRACTISED[Outcome(outcome)]
    return Outcome(outcome).value + ("; a critical miss" if critical_miss else "")


def methods_words(methods: frozenset[Method]) -> str:
    """Real work or drill, in the order of the methods."""
    return " or ".join(METHODS[method] for method in Method if method in methods)


NOTHING_NEEDED = {
    PieceKind.ASSESSMENTS: "No assessment is needed.",
    PieceKind.DAYS: "No number of days is needed.",
    PieceKind.SUPERVISORS: "No number of people watching is needed.",
}


def piece_there(piece: Piece) -> str:
    """What is there of a piece that is complete; ends with why less is asked, where less is."""
    if piece.needed == 0 and piece.kind in NOTHING_NEEDED:
        return f"{NOTHING_NEEDED[piece.kind]} {lowered_sentence(piece)}".strip()
    have, needed = number_words(piece.have), number_words(piece.needed)
    says = {
        PieceKind.CHECK: "The knowledge check is passed.",
        PieceKind.ASSESSMENTS: f"{begun(several(piece.have, 'assessment', 'assessments'))} met, {needed} needed.",
        PieceKind.BY_METHOD: f"{begun(have)} by {methods_words(piece.methods)}, {needed} needed.",
        PieceKind.DAYS: f"On {several(piece.have, 'day', 'different days')}, {needed} needed."
        if piece.have
        else f"On no day yet, {needed} needed.",
        PieceKind.SUPERVISORS: f"Watched by {several(piece.have, 'person', 'different people')}, {needed} needed."
        if piece.have
        else f"Watched by nobody yet, {needed} needed.",
        PieceKind.STEPS: "Every critical step with a case was done alone or asked.",
        PieceKind.PREREQUISITES: "Every prerequisite holds.",
    }[piece.kind]
    return f"{says} {lowered_sentence(piece)}".strip()


def lowered_sentence(piece: Piece) -> str:
    """Why less is asked than the version's own number; empty where nothing was lowered."""
    if piece.lowered_because is None:
        return ""
    return f"Needed: {number_words(piece.needed)} instead of {number_words(piece.asked)}: {piece.lowered_because}."


def piece_missing(piece: Piece, names: Mapping[str, str] = NO_NAMES) -> tuple[str, str]:
    """What is missing of a piece, and what supplies it. `names` gives steps their words and procedures their titles."""
    more = piece.needed - piece.have
    there = f"{number_words(piece.have) if piece.have else 'none'} of {number_words(piece.needed)}"
    counted = {
        PieceKind.ASSESSMENTS: (several(more, "more assessment", "more assessments"), "met", "Observe an assessment"),
        PieceKind.BY_METHOD: (f"{number_words(more)} more by {methods_words(piece.methods)}", "met", "Observe it so"),
        PieceKind.DAYS: (
            several(more, "more day", "more different days"),
            "there",
            "Observe an assessment on another day",
        ),
        PieceKind.SUPERVISORS: (
            several(more, "more supervisor", "more supervisors"),
            "there",
            "Let another supervisor or an outside witness watch",
        ),
    }
    if piece.kind in counted:
        says, word, supply = counted[piece.kind]
        return f"{begun(says)}: {there} {word}.", f"{supply}."
    if piece.kind is PieceKind.CHECK:
        return "The knowledge check is not passed.", "Pass the knowledge check."
    if (
        piece.kind is PieceKind.STEPS
    ):  # by their words alone: nobody reads the key of a step, and two may share one case
        cases = listed(list(dict.fromkeys(names.get(key, key) for key in piece.missing)))
        return f"Never alone or asked, and critical: {cases}.", "Put the case in an assessment; asked is enough."
    below = listed([named(key, names) for key in piece.missing])
    return f"Does not hold: {below}.", "Bring it up to date first."
