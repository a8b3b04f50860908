"""What an inspector asks: the question, the answer in a sentence, and the part of the binder or the place where it stands.

Which questions these are: common practice, no source; those about training records follow rows O-02 to O-05.
"""

from collections.abc import Sequence

from clinic.models import KeptElsewhere
from clinic.rules.wording import counted
from training.documents.binder import content as b
from training.models import FoundingGrant, Observation, SignOff
from training.reads.binder_asked import Asked
from training.reads.binder_upkeep import Upkeep
from training.reads.matrix import LEAST, Squares


def questions(
    asked: Asked, matrix: Squares, upkeep: Upkeep, sessions: Sequence[b.Session], elsewhere: Sequence[KeptElsewhere]
) -> list[b.Question]:
    """At most a dozen about what is kept here, then every paper that is kept elsewhere."""
    here = [
        b.Question("Who may do what, alone?", who_may(matrix), "matrix", ""),
        b.Question(
            "What shows that for each person?", "A record per person: what was watched, signed and asked.", "people", ""
        ),
        b.Question("Who watched them, and who let those sign?", chain(asked), "authority", ""),
        b.Question("Which duties rest on too few people?", thin(matrix), "matrix", ""),
        b.Question("What were they taught, by whom, and could they ask?", taught(sessions), "taught", ""),
        b.Question(
            "To which text do they work?", "Every version in force, in full, with who approved it.", "procedures", ""
        ),
        b.Question("Was the upkeep done on time?", on_time(upkeep), "upkeep", ""),
        b.Question("By somebody allowed to?", covered(upkeep), "upkeep", ""),
        b.Question(
            "What was read: water, spore tests, torque?",
            readings(upkeep),
            "extras" if upkeep.extras else "",
            "upkeep entries",
        ),
        b.Question(
            "What is known to be wrong, and what was done?", "Every finding, with what was done.", "findings", ""
        ),
        b.Question(
            "Can this record have been changed?", "Every fact is sealed; how to check it is said.", "integrity", ""
        ),
    ]
    return here + [
        b.Question(f"Where is it: {row.what}?", kept(row), "", f"{row.place} ({row.keeper})") for row in elsewhere
    ]


def kept(row: KeptElsewhere) -> str:
    reviewed = f" Last review {row.last_review:%-d %B %Y}." if row.last_review else " No review is noted."
    return f"Kept elsewhere by {row.keeper}.{reviewed}"


def who_may(matrix: Squares) -> str:
    pairs = [square for square in matrix.squares.values() if square.state.is_usable]
    people = {person for (person, _), square in matrix.squares.items() if square.state.is_usable}
    if not people:
        return "Nobody may do anything alone that day."
    return f"{counted(len(people), 'person', 'people')}, {counted(len(pairs), 'sign-off')} that hold that day."


def thin(matrix: Squares) -> str:
    short = [procedure.code for procedure in matrix.procedures if matrix.short(procedure)]
    return (
        f"Fewer than {LEAST} may do {', '.join(short)}."
        if short
        else f"None: at least {LEAST} people for each duty asked."
    )


def chain(asked: Asked) -> str:
    """Counts of the chain of signing; three queries."""
    days = {"site": asked.site, "happened_on__range": (asked.first, asked.last)}
    signers = SignOff.objects.live().filter(**days).values("signer").distinct().count()
    founded = FoundingGrant.objects.live().filter(site=asked.site, happened_on__lte=asked.last).count()
    witnesses = Observation.objects.live().filter(**days, witness__isnull=False).values("witness").distinct().count()
    return (
        f"{counted(signers, 'signer')} in the period; {counted(founded, 'founding grant')} began it; "
        f"{counted(witnesses, 'outside witness', 'outside witnesses')}."
    )


def taught(sessions: Sequence[b.Session]) -> str:
    live = sum(session.live_questions for session in sessions)
    if not sessions:
        return "No session was recorded in the period."
    return f"{counted(len(sessions), 'session')}; questions could be asked live in {live}."


def on_time(upkeep: Upkeep) -> str:
    if not upkeep.days:
        return "No unit is in the register."
    return f"{upkeep.late_days:,} of {upkeep.days:,} task days were overdue; {counted(len(upkeep.rows), 'entry', 'entries')}."


def covered(upkeep: Upkeep) -> str:
    if not upkeep.bare:
        return "Every entry by somebody who could, or with one standing by."
    return f"{counted(upkeep.bare, 'entry', 'entries')} by somebody who could not, with nobody usable standing by."


def readings(upkeep: Upkeep) -> str:
    return ", ".join(extra.title for extra in upkeep.extras) or "No readings of these kinds in the period."
