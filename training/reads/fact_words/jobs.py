"""Jobs at a milling unit, and the set of tools that the site wants for a material, in words."""

from clinic.models import JobEnded, JobStarted, SetLine
from clinic.reads.jobs import tools_of
from clinic.rules.words import counted, listed
from training.reads.fact_words.parts import (
    FactWords,
    fact_link,
    from_day,
    labelled,
    on_day,
    say,
    sentences,
    unit,
    who,
    writes,
)


@writes(JobStarted, "start of a job")
def started(fact: JobStarted) -> FactWords:
    way, codes = "wet" if fact.wet else "dry", sorted(tools_of(fact.tools).values())
    return FactWords(
        say(f"Case {fact.case} was started on {fact.equipment} ", on_day(fact)),
        sentences(
            say("Started by ", who(fact.done_by), say(", with ", who(fact.stood_by), " standing by") if fact.stood_by else "", ", on ", unit(fact.equipment), "."),
            f"Milled from {fact.lot.get_material_display().lower()}, lot {fact.lot}, {way}.",
            f"The code printed on the block: {fact.code}." if fact.code else None,
            f"The unit was given the factor {fact.factor}." if fact.factor is not None else None,
            f"In the unit {'sat' if codes else 'no tool was recorded'}{f' {listed(codes)}' if codes else ''}.",
        ),
    )  # fmt: skip


@writes(JobEnded, "end of a job")
def job_ended(fact: JobEnded) -> FactWords:
    how = {"good": "came out good", "remade": "has to be made again", "crash": "ended in a crash"}[fact.outcome]
    return FactWords(
        say(f"Case {fact.job.case} {how}, ", on_day(fact)),
        sentences(
            say("Said by ", who(fact.done_by), "; it had been started with ", fact_link(fact.job), "."),
            labelled("From", fact.get_cause_display() if fact.cause else ""),
            f"It was {counted(fact.parts, 'part')}" + (f", in {counted(fact.minutes, 'minute')} by the unit’s counter." if fact.minutes is not None else "."),
            labelled("Note", fact.note),
        ),
    )  # fmt: skip


@writes(SetLine, "line of a set of tools")
def set_line(fact: SetLine) -> FactWords:
    what = f"{fact.tool}{f', {fact.size}' if fact.size else ''}" if fact.tool else "no tool"
    return FactWords(
        say(f"For {fact.material}, {fact.way}, position {fact.position} of {fact.equipment} is to hold {what}, {from_day(fact)}"),
        sentences(say("The line is part of the sets of ", unit(fact.equipment), ".")),
    )  # fmt: skip
