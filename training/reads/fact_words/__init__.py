"""Facts in words: one writer for each kind of fact, for the page that every line of a page or binder leads back to."""

from training.reads.fact_words import equipment, jobs, programme, site, stock, training_facts, upkeep  # noqa: F401 - each registers its writers
from training.reads.fact_words.parts import (
    WRITERS,
    FactSection,
    FactWords,
    PageLink,
    Sentence,
    Writer,
    fact_link,
    name_of,
    plain,
    say,
    words_of,
)

__all__ = ["WRITERS", "FactSection", "FactWords", "PageLink", "Sentence", "Writer", "fact_link", "name_of", "plain", "say", "words_of"]  # fmt: skip
