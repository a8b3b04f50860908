"""Where words are found in a procedure. Every word must stand in the same place; upper and lower case are the same."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from training.rules.place import Answers, said, steps_here
from training.rules.texts import Content


@dataclass(frozen=True, slots=True)
class FoundWords:
    """`where`: "step 8", "caution of step 9", "title" …; `says`: the words there, with the answers of the walk round."""

    where: str
    says: str


def found_in(words: str, code: str, title: str, content: Content, answers: Answers) -> list[FoundWords]:
    """Every place that holds all the words, in the order of the page."""
    wanted = words.casefold().split()
    places = [FoundWords("title", f"{title} ({code})"), *text_places(content, answers), *step_places(content, answers)]
    return [place for place in places if wanted and all(word in place.says.casefold() for word in wanted)]


def text_places(content: Content, answers: Answers) -> Iterator[FoundWords]:
    yield FoundWords("purpose", said(content.purpose, answers))
    for where, lines in (
        ("what can hurt", content.hazards),
        ("what is put on", content.protective_equipment),
        ("what is taught", content.contents),
    ):
        yield from lines_of(where, lines, answers)
    yield FoundWords("note", said(content.note, answers))


def lines_of(where: str, lines: Iterable[str], answers: Answers) -> Iterator[FoundWords]:
    for line in lines:
        yield FoundWords(where, said(line, answers))


def step_places(content: Content, answers: Answers) -> Iterator[FoundWords]:
    """Numbers are those of this place: a step about what is not used here is left out."""
    for number, step in enumerate(steps_here(content.steps, answers), start=1):
        when = f"When {said(step.when, answers, begins=False)}: " if step.when else ""
        yield FoundWords(f"step {number}", when + said(step.do, answers))
        if step.caution:
            yield FoundWords(f"caution of step {number}", said(step.caution, answers))
