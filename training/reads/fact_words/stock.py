"""The shelf, and the messages of units, in words."""

from clinic.models import StockLine, StockMoved, UnitMessage
from clinic.rules.words import begun
from training.reads.fact_words.parts import FactWords, from_day, labelled, on_day, say, sentences, unit, writes


@writes(StockLine, "line of the stock")
def stock_line(fact: StockLine) -> FactWords:
    kept = f"is ordered at {fact.line}, up to {fact.full}" if fact.full else "is not kept in stock any more"
    which = f"{fact.tool}{f', {fact.size}' if fact.size else ''}" if fact.tool else ""
    return FactWords(say(f"{begun(fact.name)} {kept}, {from_day(fact)}"), sentences(labelled("Kind", fact.get_shelf_display()), labelled("Spare tools", which)))  # fmt: skip


@writes(StockMoved, "entry of the stock")
def stock_moved(fact: StockMoved) -> FactWords:
    return FactWords(say(f"{begun(fact.name)}: {fact.number} {fact.get_what_display().lower()} ", on_day(fact)))


@writes(UnitMessage, "message of a unit")
def unit_message(fact: UnitMessage) -> FactWords:
    return FactWords(
        say(f"What is done about “{fact.code}” on the screen was written down ", on_day(fact)),
        sentences(
            say("It is of ", unit(fact.equipment, "every unit"), "."), labelled("It says", fact.shown), labelled("What we do", fact.remedy),
            labelled("Source", fact.source),
        ),
    )  # fmt: skip
