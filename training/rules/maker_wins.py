"""Which steps the maker’s instructions win over, said at the step itself: where it gives a value, or asks for the unit’s own.

Such are a figure with its unit (a torque, an interval, a limit), a site fact that the maker says (what is asked of a unit, and
of what is poured, spread or sampled), and what the library wrote in figures for itself. Common practice, no source.
"""

import re
from collections.abc import Collection

from clinic.rules.site_text import names_in
from training.rules.texts import SiteFactText, Step

UNITS = (
    "N·cm", "Nm", "%", "°C", "°", "mm", "µm", "ml", "mL", "litres?", "bar", "CFU", "seconds?", "minutes?", "hours?", "days?", "weeks?",
    "months?", "cycles?", "parts?",
)  # fmt: skip
FIGURE = re.compile(rf"(?:±\s?\d|\b\d[\d.,]*(?:\s?[–-]\s?\d[\d.,]*)?\s?(?:{'|'.join(UNITS)})(?!\w))")


def gives_a_figure(text: str) -> bool:
    """Whether it gives a value with its unit; the code of a procedure and the number of a step are none."""
    return bool(FIGURE.search(text))


def maker_wins(step: Step, makers: Collection[str]) -> bool:
    """Whether it has to be said at this step. `makers`: names of the site facts that the maker says."""
    text = f"{step.when} {step.do} {step.caution}"
    return gives_a_figure(text) or any(name in makers for name in names_in(text))


def makers_facts(facts: Collection[SiteFactText]) -> frozenset[str]:
    return frozenset(fact.name for fact in facts if fact.is_makers)
