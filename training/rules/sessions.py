"""What the record of a taught session must hold before it counts (O-05: 29 CFR 1910.1030(h)(2)(i), V; O-04 live
questions: (g)(2)(vii)(N), M; O-20 understanding shown: 1910.132(f)(2), V). One missing field makes it incomplete: it is
kept, and counts for nobody."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

DEMONSTRATION_ROW = "O-20"
"""A topic that rests on this row asks that understanding and ability are shown, not only taught."""


@dataclass(frozen=True, slots=True)
class SessionRecord:
    """`untitled`: names of those who attended without a job title on that day. `live_questions`, `demonstrated`: None is
    not answered yet. `sources`: rows that its topics rest on."""

    days: Sequence[str]
    summary: str
    trainer: str
    qualification: str
    language: str
    handed_out: str
    live_questions: bool | None
    demonstrated: bool | None
    attended: int
    untitled: Sequence[str] = ()
    sources: Iterable[str] = ()


def missing(record: SessionRecord) -> list[str]:
    """Every piece that the record lacks, in words; empty where the session counts."""
    wanted = {
        "the day or days": record.days,
        "contents or a summary": record.summary.strip(),
        "the trainer’s name": record.trainer.strip(),
        "the trainer’s qualification": record.qualification.strip(),
        "somebody who attended": record.attended,
        "the language used": record.language.strip(),
        "what was handed out (“nothing” is an answer)": record.handed_out.strip(),
        "live questions with the trainer": record.live_questions,
        "understanding shown, not only taught": record.demonstrated or DEMONSTRATION_ROW not in set(record.sources),
    }
    untitled = [f"the job title that {name} had that day" for name in record.untitled]
    return [name for name, there in wanted.items() if not there] + untitled
