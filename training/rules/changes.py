"""What changed from one text to the next: step by step and question by question, by their keys, and word by word within.

A step keeps its key across versions, so a step that was moved or reworded is told as that, and never as one taken out
and another put in.
"""

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from enum import StrEnum

from training.rules.texts import Content, Question, Step


class ChangeKind(StrEnum):
    ADDED = "added"
    REMOVED = "removed"
    CHANGED = "changed"
    MOVED = "moved"
    SAME = "same"


@dataclass(frozen=True, slots=True)
class WordsPiece:
    """A stretch of words that is the same (neither), new or gone."""

    says: str
    new: bool = False
    gone: bool = False


@dataclass(frozen=True, slots=True)
class StepChange:
    """One step across two versions. Numbers count from 1; None where the step is not there. `lines`: words of what is
    done, its when and its caution, with what is new and gone; `notes`: other changes, in words."""

    kind: ChangeKind
    key: str
    number_before: int | None
    number_after: int | None
    lines: tuple[tuple[str, tuple[WordsPiece, ...]], ...]
    notes: tuple[str, ...]

    @property
    def is_change(self) -> bool:
        return self.kind is not ChangeKind.SAME


def step_changes(before: Sequence[Step], after: Sequence[Step]) -> list[StepChange]:
    """Every step of either version: those of the new one in order, each one taken out after the step it followed."""
    old, new = ({step.key: (number, step) for number, step in enumerate(steps, 1)} for steps in (before, after))
    stay = unmoved([old[step.key][0] for step in after if step.key in old])
    return [one_change(key, old.get(key), new.get(key), stay) for key in merged(before, after)]


def merged(before: Sequence[Step], after: Sequence[Step]) -> list[str]:
    """Keys in the new order, with those taken out left where they stood."""
    keys, present = [step.key for step in after], {step.key for step in after}
    place = 0
    for step in before:
        if step.key in present:
            place = keys.index(step.key) + 1
        else:
            keys.insert(place, step.key)
            place += 1
    return keys


def unmoved(places: Sequence[int]) -> set[int]:
    """The longest run of old places that still ascends: whoever is not in it was moved."""
    ends: list[int] = []  # smallest end of an ascending run of each length
    runs: list[list[int]] = []
    for place in places:
        at = bisect_left(ends, place)
        run = [*(runs[at - 1] if at else []), place]
        if at == len(ends):
            ends.append(place)
            runs.append(run)
        else:
            ends[at], runs[at] = place, run
    return set(runs[-1]) if runs else set()


Placed = tuple[int, Step]


def one_change(key: str, old: Placed | None, new: Placed | None, stay: set[int]) -> StepChange:
    was, now = (old[1] if old else None), (new[1] if new else None)
    lines, notes = tuple(line_changes(was, now)), tuple(note_changes(was, now))
    kind = ChangeKind.SAME
    if old is None or new is None:
        kind = ChangeKind.ADDED if old is None else ChangeKind.REMOVED
    elif any(piece.new or piece.gone for _, pieces in lines for piece in pieces) or notes:
        kind = ChangeKind.CHANGED
    elif old[0] not in stay:
        kind = ChangeKind.MOVED
    moved = (f"Moved: it was step {old[0]}, now {new[0]}.",) if old and new and old[0] not in stay else ()
    return StepChange(kind, key, old and old[0], new and new[0], lines, notes + moved)


def line_changes(was: Step | None, now: Step | None) -> Iterator[tuple[str, tuple[WordsPiece, ...]]]:
    for name in ("when", "do", "caution"):
        old, new = (getattr(step, name) if step else "" for step in (was, now))
        if old or new:
            yield name, word_changes(old, new)


def note_changes(was: Step | None, now: Step | None) -> Iterator[str]:
    if was and now and was.critical != now.critical:
        yield "Now critical." if now.critical else "No longer critical."
    if was and now and was.sources != now.sources:
        yield "Rests on other sources."


def word_changes(old: str, new: str) -> tuple[WordsPiece, ...]:
    """The words of both, in order, each stretch once."""
    a, b = old.split(), new.split()
    found: list[WordsPiece] = []
    for does, a1, a2, b1, b2 in SequenceMatcher(None, a, b, autojunk=False).get_opcodes():
        if does == "equal":
            found.append(WordsPiece(" ".join(a[a1:a2])))
            continue
        found += [WordsPiece(" ".join(a[a1:a2]), gone=True)] if a2 > a1 else []
        found += [WordsPiece(" ".join(b[b1:b2]), new=True)] if b2 > b1 else []
    return tuple(found)


PARTS = {
    "purpose": "Purpose", "hazards": "What can hurt", "protective_equipment": "What is put on", "note": "Note",
    "evidence": "What is written down", "who": "Who it is for", "again": "When it is repeated",
    "contents": "What is taught", "records": "What its record holds",
}  # fmt: skip


def part_changes(before: Content, after: Content) -> list[tuple[str, tuple[WordsPiece, ...]]]:
    """Parts of the text around the steps that changed, with their words."""
    sides = [(title, joined(getattr(before, name)), joined(getattr(after, name))) for name, title in PARTS.items()]
    return [(title, word_changes(old, new)) for title, old, new in sides if old != new]


def joined(value: str | tuple[str, ...]) -> str:
    return value if isinstance(value, str) else " · ".join(value)


def question_changes(before: Sequence[Question], after: Sequence[Question]) -> list[tuple[ChangeKind, str]]:
    """Questions that were added, taken out or changed, each with its words."""
    old, new = ({question.key: question for question in questions} for questions in (before, after))
    found = [
        (ChangeKind.ADDED if key not in old else ChangeKind.CHANGED, q.ask)
        for key, q in new.items()
        if old.get(key) != q
    ]
    return found + [(ChangeKind.REMOVED, question.ask) for key, question in old.items() if key not in new]
