"""Words with {site facts} in them, with the answers of the walk round in their places: on bench, page, wall card and paper.

A site fact is written {name} in a text. One that nobody has answered yet is said by its name, so that the sentence stays one;
what that means is said once, at the end of the text. One that is not used here is said by its name too.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

NAME = re.compile(r"\{([^{}]+)\}")
OPEN = "(not filled in yet: see the maker’s instructions, or ask)"
NOT_USED = "not used here"
NUMBER = re.compile(r"\d+(?:[.,]\d+)?")
SENTENCE_END = re.compile(r"[.:;!?]$")
# Words that begin no name: an answer that begins with one of them in capitals would stand so in the middle of a sentence.
COMMON = frozenset(
    [
        "a",
        "an",
        "the",
        "this",
        "that",
        "these",
        "each",
        "every",
        "one",
        "two",
        "no",
        "none",
        "not",
        "by",
        "at",
        "in",
        "on",
        "under",
        "over",
        "behind",
        "beside",
        "between",
        "from",
        "to",
        "into",
        "with",
        "without",
        "when",
        "where",
        "until",
        "after",
        "before",
        "it",
        "its",
        "users",
        "press",
        "turn",
        "wait",
        "hold",
        "pull",
        "push",
        "open",
        "close",
        "lift",
        "use",
        "see",
    ]
)


@dataclass(frozen=True, slots=True)
class Answer:
    """What the walk round found: a value, or that it is not used here. `of_others`: told of other units, as none is chosen."""

    value: str
    not_used: bool = False
    of_others: bool = False


Answers = Mapping[str, Answer]


@dataclass(frozen=True, slots=True)
class Words:
    """A stretch of a text. `fact` names the site fact it stands for, where it stands for one; `missing`: not filled in yet."""

    says: str
    fact: str = ""
    missing: bool = False


def names_in(text: str) -> list[str]:
    return NAME.findall(text)


def filled(text: str, answers: Answers, *, begins: bool = True) -> tuple[Words, ...]:
    """The text in stretches, with each {fact} replaced by its answer here, or by its name. `begins`: a sentence begins with
    it, so that a fact at its head has a capital; a case that stands after "When" does not."""
    pieces, found, before = NAME.split(text), [], "" if begins else "When "  # text, name, text, name, text
    for index, piece in enumerate(pieces):
        words = fact_words(piece, answers, before) if index % 2 else Words(piece)
        found += [words] if words.says else []
        before += words.says
    return with_note(found) if any(words.missing for words in found) else tuple(found)


def fact_words(name: str, answers: Answers, before: str) -> Words:
    """The words for a fact after the words that stand before it."""
    answer = answers.get(name)
    if answer is None or not (answer.value or answer.not_used):
        return Words(begun(noun(name, before), before), name, missing=True)
    if answer.not_used:
        return Words(begun(f"{noun(name, before)} ({NOT_USED})", before), name)
    return Words(begun(answer.value, before), name)


def noun(name: str, before: str) -> str:
    """The fact's name as it stands in a sentence: the stop control."""
    return name if before.lower().endswith(("the ", "a ", "an ")) else f"the {name}"


def begun(words: str, before: str) -> str:
    """With a capital where a sentence begins."""
    begins = not before.strip() or bool(re.search(r"[.!?]\s+$", before))
    return words[:1].upper() + words[1:] if begins else words


def with_note(found: Sequence[Words]) -> tuple[Words, ...]:
    """Once for the whole text, before the mark that ends it, what an unanswered fact means."""
    last = found[-1]
    end = SENTENCE_END.search(last.says) if not last.fact else None
    if end is None:
        return (*found, Words(f" {OPEN}"))
    rest = last.says[: end.start()]
    return (*found[:-1], *([Words(rest)] if rest else []), Words(f" {OPEN}{end[0]}"))


def said(text: str, answers: Answers, *, begins: bool = True) -> str:
    """The same as one plain sentence."""
    return "".join(words.says for words in filled(text, answers, begins=begins))


def by_name(text: str) -> str:
    """The sentence where no unit is known, or what it was then: each fact by its name."""
    return NAME.sub(r"\1", text)


def told_apart(answers: Sequence[tuple[str, Answer]]) -> Answer:
    """One answer of several units where none is chosen, as (label, answer): what all that use it say, or each with its
    unit."""
    by_value: dict[str, list[str]] = {}
    for label, answer in answers:
        if not answer.not_used:
            by_value.setdefault(answer.value, []).append(label)
    if len(by_value) < 2:
        return Answer(next(iter(by_value), ""), not_used=not by_value)
    return Answer(" or ".join(f"{value} ({' and '.join(labels)})" for value, labels in by_value.items()))


def does_not_fit(answer: str) -> str:
    """Why an answer would not read well inside its sentence, with the remedy; empty where it would."""
    words = answer.split()
    first = words[0] if words else ""
    if "{" in answer or "}" in answer:
        return "Leave the braces out: write the words themselves."
    if answer.rstrip().endswith((".", "!", "?")):
        return "Leave the full stop out: the sentence goes on after it, or has its own."
    if first[:1].isupper() and first.lower().rstrip(",;:") in COMMON:
        return f"Begin small, “{first.lower()}”: it stands inside a sentence. Only a name begins large."
    return ""


def first_number(answer: str) -> float | None:
    """The first number an answer names ("6 jets, all at the tip" is 6); None where it names none."""
    found = NUMBER.search(answer)
    return float(found[0].replace(",", ".")) if found else None
