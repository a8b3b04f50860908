"""Example data for the parts of a page, all of it invented, and a page made of them."""

from datetime import date, timedelta
from pathlib import Path
from types import SimpleNamespace as Of
from typing import Any

from clinic.rules.spans import Span

TODAY = date(2026, 11, 25)
STANDING = [
    Span(date(2026, 3, 1), date(2026, 5, 4), "untrained"),
    Span(date(2026, 5, 4), date(2026, 7, 28), "learning"),
    Span(date(2026, 7, 28), date(2026, 8, 11), "ready"),
    Span(date(2026, 8, 11), date(2026, 10, 20), "current"),
    Span(date(2026, 10, 20), date(2026, 12, 3), "due"),
    Span(date(2026, 12, 3), date(2027, 2, 12), "on hold"),
    Span(date(2027, 2, 12), None, "lapsed"),
]
CARE = [
    Span(date(2025, 11, 20), date(2026, 3, 1), "in time"),
    Span(date(2026, 3, 1), date(2026, 3, 8), "due"),
    Span(date(2026, 3, 8), date(2026, 3, 9), "overdue"),
    Span(date(2026, 3, 9), date(2026, 6, 20), "paused"),
    Span(date(2026, 6, 20), None, "in time"),
]
MARKS = [
    (date(2026, 11, 25), "overdue", "deep clean, unit 2"),
    (date(2026, 11, 26), "upkeep due", "water, tank 2"),
    (date(2026, 12, 3), "due", "Ines, P04"),
    (date(2026, 12, 21), "upkeep due", "dip-slide"),
]
PIECES = [
    Of(there=True, says="Two distinct days.", supply=""),
    Of(there=False, says="One more assessment.", supply="By real work, watched by somebody with authority."),
    Of(there=False, says="The knowledge check.", supply="It may be taken today."),
]
STATES = ["current", "due", "on hold", "lapsed", "withdrawn", "ready", "learning", "untrained"]


def matrix() -> Of:
    """Four people in 22 procedures, every state among them."""
    columns = [
        Of(code=f"P{n:02}", title="Tool swap", href="#", usable=n, short=n < 3, rows="duty") for n in range(1, 23)
    ]
    return Of(caption="Who may do what", corner="On 25 Nov 2026", columns=columns, rows=[row(n) for n in range(1, 5)])


def row(person: int) -> Of:
    cells = [
        None
        if (n + person) % 9 == 0
        else Of(state=STATES[n * person % 8], says="10 Jul", href="#", label=f"P{n:02}", rows="square", short="10 Jul")
        for n in range(1, 23)
    ]
    return Of(name=f"Person {person}", href="#", small="assistant", cells=cells, held=9, asked=20)


def page_context(form: Any) -> dict[str, Any]:
    here = Of(code="harbour", name="Harbour Row Dental")
    return {
        "me": Of(printed_name="Tomas Lindqvist", role_words="lead assistant, supervisor"),
        "locks_in": 240,
        "holds": False,
        "site": here,
        "sites": [here, Of(code="mill", name="Mill Lane Dental")],
        "section": "today",
        "locked": False,
        "csrf_token": "token",
        "request": Of(get_full_path="/harbour/today/"),
        "messages": ["Saved."],
        "today": TODAY,
        "first": date(2026, 11, 16),
        "after": date(2027, 1, 1),
        "marks": MARKS,
        "spans": STANDING,
        "care": CARE,
        "entries": [date(2026, 1, 1) + timedelta(days=7 * n) for n in range(40)],
        "from": date(2026, 3, 1),
        "to": date(2027, 9, 1),
        "pieces": PIECES,
        "actions": [("Observe now", "#")],
        "matrix": matrix(),
        "rows": [("Stop", "red button, left edge"), ("Jet list", None)],
        "table_rows": [["Who may use the units?", "Eight people"]],
        "form": form,
    }


SAMPLE_PAGE = Path(__file__).with_name("sample_page.html").read_text()
