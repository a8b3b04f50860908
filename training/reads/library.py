"""What the library keeps beside the procedures and no table holds: read once from its files."""

from functools import cache

from django.conf import settings

from training.rules.library_beside import read_hands, read_site_fact, read_walk_question
from training.rules.library_file import Reader
from training.rules.library_parts import read_sources, read_supervisor_question
from training.rules.maker_wins import makers_facts
from training.rules.texts import Hands, Question, Source, WalkQuestion


@cache
def hands() -> Hands:
    """The rules about hands, shown with every procedure."""
    return read_hands(Reader(settings.LIBRARY_DIR).open("hands.yaml"))


@cache
def walk_questions() -> tuple[WalkQuestion, ...]:
    """The questions of the walk round, in order."""
    places = Reader(settings.LIBRARY_DIR).open("site_facts.yaml")
    return tuple(read_walk_question(block) for block in places.blocks("questions"))


@cache
def walk_examples() -> dict[str, str]:
    """An invented answer to each site fact that reads well inside its sentences."""
    places = Reader(settings.LIBRARY_DIR).open("site_facts.yaml")
    return {fact.name: fact.example for fact in map(read_site_fact, places.blocks("facts"))}


@cache
def makers() -> frozenset[str]:
    """The site facts that the maker says."""
    places = Reader(settings.LIBRARY_DIR).open("site_facts.yaml")
    return makers_facts([read_site_fact(block) for block in places.blocks("facts")])


@cache
def supervisor_questions() -> tuple[tuple[str, Question], ...]:
    """Law and records, for supervisors: (code of the procedure it belongs to, the question)."""
    law = Reader(settings.LIBRARY_DIR).open("supervisor_questions.yaml")
    return tuple(read_supervisor_question(block) for block in law.blocks("questions"))


@cache
def supervisor_sources() -> dict[str, Source]:
    """The sources that these questions name, by row."""
    law = Reader(settings.LIBRARY_DIR).open("supervisor_questions.yaml")
    return {source.row: source for source in read_sources(law)}
