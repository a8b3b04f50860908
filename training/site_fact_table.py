"""What the steps need to know of a site and its units, in one table: each open question of the walk round by its unit."""

from collections.abc import Sequence
from functools import cached_property
from uuid import UUID

from django import forms

from clinic.record import Refusal, Refused, refuse_if
from clinic.rules.site_text import does_not_fit
from clinic.rules.words import counted
from clinic.tables import Table, TableColumn, TableLine, Values, laid_over, words_column
from training.actions.walk import WalkAnswer, answer_walk
from training.forms.walk import help_of
from training.reads.library import walk_questions
from training.reads.walk import FactSquare, walk_round


class SiteFactTable(Table):
    """A line for each question that is open at the site or at one of its units."""

    title = "Site facts"
    nothing = "No question is open. They are asked of units in service once the library is loaded."
    next_words, next_page = "Look at the walk round", "training:walk"
    folded_by = "unit"
    lead = "What stands inside the steps, on wall cards and in the stop rules. What you leave empty stays open."

    def asks(self) -> tuple[TableColumn, ...]:
        answer = forms.CharField(label="Answer", max_length=2000, widget=forms.Textarea)
        return (
            words_column("fact", "What", "Name what it is about.", most=120),
            words_column("unit", "Where", "Name the unit, or write “the site”.", most=80),
            words_column("ask", "What to write", most=2000),
            TableColumn("answer", answer),
            TableColumn("not_used", forms.BooleanField(label="Not used here")),
        )

    @cached_property
    def squares(self) -> dict[tuple[str, str], FactSquare]:
        rows = [
            square
            for asked in walk_round(self.here.site, max(self.here.today, self.here.site.register_start))
            for square in asked.squares
        ]
        return {(square.fact.name.lower(), square.place.lower()): square for square in rows}

    @cached_property
    def questions(self) -> dict[int, str]:
        return {each.number: each.ask for each in walk_questions()}

    def topic(self, line: TableLine) -> str:
        """The question of the walk round that asks it."""
        square = self.squares.get(key_of(line))
        return self.questions[square.fact.question] if square else "Asked in no question"

    def lines(self, typed: Sequence[TableLine]) -> list[TableLine]:
        given = frozenset({"unit", "fact", "ask"})
        known = [
            TableLine({"fact": square.fact.name, "unit": square.place, "ask": help_of(square)}, given)
            for square in self.squares.values() if square.value is None
        ]  # fmt: skip
        said = [line for line in typed if line["answer"] or line["not_used"]]
        return laid_over(known, said, key_of)

    def sample(self) -> list[TableLine]:
        """Each open question with the example that fits its sentence; without one, it is not used."""
        return [
            TableLine({**line.values, "answer": square.example, "not_used": "" if square.example else "yes"})
            for line in self.lines([]) if (square := self.squares[key_of(line)])
        ]  # fmt: skip

    def is_known(self, values: Values) -> bool:
        square = self.squares.get((values["fact"].lower(), values["unit"].lower()))
        value = square.value if square else None
        said = ("" if values["not_used"] else values["answer"].strip(), bool(values["not_used"]))
        return value is not None and (value.value, value.not_used) == said

    def record(self, values: Values, id: UUID) -> None:
        square = self.squares.get((values["fact"].lower(), values["unit"].lower()))
        if square is None:
            raise Refused(
                Refusal("This is not asked of it.", "Write what and where as the list of questions has it.", "fact")
            )
        refuse_if(*against_answer(values))
        said = WalkAnswer(square.fact, square.unit, values["answer"], bool(values["not_used"]))
        answer_walk([said], site=self.here.site, by=self.here.by, submission=id)

    def done(self, recorded: int) -> str:
        return f"{counted(recorded, 'answer')} recorded."


def key_of(line: TableLine) -> tuple[str, str]:
    return line["fact"].lower(), line["unit"].lower()


def against_answer(values: Values) -> list[Refusal | None]:
    wrong = does_not_fit(values["answer"])
    both = bool(values["answer"].strip()) and values["not_used"]
    return [
        Refusal(wrong, "", "answer") if wrong else None,
        Refusal("It is answered and not used here at once.", "Keep one of them.", "answer") if both else None,
    ]
