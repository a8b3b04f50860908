"""The days of a teaching plan in words."""

from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby

from clinic.rules.words import begun, listed, number_words
from training.rules.teaching import Lesson, LessonPart

TIMES = {1: "", 2: " twice"}


def lessons_sentence(lessons: Sequence[Lesson], names: Mapping[str, str]) -> str:
    """Show, say why and watch twice: Nora Quill. Sign off: Ida Brandt. The lessons are of one procedure on one day."""
    return " ".join(
        f"{begun(listed(list(parts_words(mine))))}: {names.get(who, 'somebody who may')}."
        for who, mine in groupby(lessons, key=lambda lesson: lesson.who)
    )


def parts_words(lessons: Iterable[Lesson]) -> Iterable[str]:
    for part, same in groupby(lesson.part for lesson in lessons):
        times = len(list(same))
        yield f"{part.value}{TIMES.get(times, f' {number_words(times)} times')}"


def beyond_words(lessons: Sequence[Lesson]) -> str:
    """Why the days that were looked at do not reach, for whoever arranges it."""
    if any(lesson.part is LessonPart.WATCH for lesson in lessons):
        return "Too few days on which somebody is there who may watch it, or nobody who may sign it."
    return "On none of these days is somebody there who may teach, watch and sign it."
