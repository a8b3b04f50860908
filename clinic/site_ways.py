"""How a site writes and prints: its time zone, its paper, and the country whose order days in figures have. Asked when it is
made, with what this computer says of itself as a guess; changed later on a page."""

import locale
import re
from zoneinfo import available_timezones

import tzlocal

from clinic.models import PaperSize, Site
from clinic.rules.reading_days import order_of
from clinic.rules.words import coordinator_words

ASKED = {
    "time_zone": "Time zone, such as Europe/London",
    "language": "Language and country, such as en-GB",
    "paper": "Paper, A4 or Letter",
}
LETTER = {"US", "CA", "MX", "PH", "CL", "CO", "VE", "PR"}  # where letter paper is usual; from memory of CLDR
LANGUAGE = re.compile(r"[a-z]{2,3}-[A-Z]{2}")


def guessed(name: str) -> str:
    """What this computer says of itself, for one of ASKED."""
    guesses = {"time_zone": zone_here, "language": language_here, "paper": lambda: paper_of(language_here())}
    return guesses[name]()


def zone_here() -> str:
    """This computer's time zone, where it has one with a name."""
    try:
        found = tzlocal.get_localzone_name()
    except (LookupError, ValueError, OSError):
        return "UTC"
    return found if found in available_timezones() else "UTC"


def language_here() -> str:
    """en-GB, where the computer names no country: the pages are written in it."""
    said = (locale.getlocale()[0] or "").replace("_", "-")
    return said if LANGUAGE.fullmatch(said) else "en-GB"


def paper_of(language: str) -> str:
    return str(PaperSize.LETTER if language.rpartition("-")[2] in LETTER else PaperSize.A4)


def right_or_why(name: str, word: str) -> str:
    """Nothing where the word will do; otherwise what to write."""
    right = {
        "time_zone": lambda: word in available_timezones(),
        "language": lambda: bool(LANGUAGE.fullmatch(word)),
        "paper": lambda: word in PaperSize.values,
    }[name]()
    return "" if right else f"“{word}” is none. Write the {ASKED[name][:1].lower()}{ASKED[name][1:]}."


def ways_in_words(site: Site) -> str:
    """For the command and the page."""
    order = order_of(site.language)
    ways = f"Time zone {site.time_zone}, {PaperSize(site.paper).label} paper, {site.language}: days in figures are read {order}."
    return f"{ways} {coordinator_words(site.infection_coordinator)}"
