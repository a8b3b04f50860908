"""The walk round of the first day, and the papers that are kept elsewhere."""

from datetime import timedelta

from django.conf import settings
from PIL import Image, ImageDraw, ImageFont

from clinic import clock
from clinic.actions.water import set_limit
from clinic.models import Equipment, KeptElsewhere, Person, Site, SiteFact, SiteFactValue
from clinic.photos import encoded
from clinic.reads.water_limits import FACT
from clinic.record import record
from clinic.rules.yaml_text import read_yaml
from training.actions.pictures import ShownPicture, keep_photo
from training.demo.scenario import key_of
from training.demo.setting_up import Cast

LEFT_OPEN = "sample time limit"
KEPT_ELSEWHERE = (
    ("Exposure control plan", "red folder, office", "Delphine Marchetti"),
    ("Hepatitis B offers and declinations", "personnel cabinet, office", "Marit Oldenburg"),
    ("Hazard assessment for protective equipment", "red folder, office", "Philippa Thorne"),
    ("Fit tests and medical clearances", "personnel cabinet, office", "Delphine Marchetti"),
    ("Safety data sheets", "tablet at the bench and blue folder", "Henrik Dahl"),
    ("Load records of the steriliser", "shelf in room 3", "Grace Adeyemi"),
    ("Makers’ instructions", "drawer under the bench", "Philippa Thorne"),
)


LIMIT_SOURCE = "the dental unit’s instructions, edition 3, page 21"


def walk_round(cast: Cast) -> None:
    with clock.standing_at(cast.scenario.instant(cast.scenario.start, 11)):
        answer_walk_round(cast)
        photograph(cast)
        name_papers(cast)


def keeper_of(cast: Cast, site: Site) -> Person:
    """Who keeps the roster of the site: its coordinator, or its owner."""
    return cast.people["ines" if site.code == "ferry-lane" else "delphine"]


def name_papers(cast: Cast) -> None:
    """What this register only points at."""
    for site in cast.sites.values():
        for what, place, keeper in KEPT_ELSEWHERE:
            row = KeptElsewhere(
                id=key_of("paper", site.code, what), site=site, happened_on=cast.scenario.start, what=what, place=place,
                keeper=keeper, last_review=cast.scenario.start - timedelta(days=40),
            )  # fmt: skip
            record(row, by=keeper_of(cast, site))


def answer_walk_round(cast: Cast) -> None:
    """Every question of the walk round but one, so that a missing site fact can be seen."""
    answers = read_yaml((settings.DEMO_DIR / "walk_round.yaml").read_text(encoding="utf-8"))
    for fact in SiteFact.objects.exclude(name=LEFT_OPEN):
        for site, unit in places(cast, fact):
            by = cast.people["philippa" if site.code == "high-street" else "ines"]
            if fact.name == FACT:
                set_limit(
                    site,
                    unit,
                    answers[fact.name],
                    LIMIT_SOURCE,
                    cast.scenario.start,
                    by=keeper_of(cast, site),
                    id=key_of("limit", unit and unit.label),
                )
                continue
            value = SiteFactValue(
                id=key_of("walk", site.code, fact.name, unit and unit.label), site=site, happened_on=cast.scenario.start,
                site_fact=fact, equipment=unit, value=answers[fact.name],
            )  # fmt: skip
            record(value, by=by)


def photograph(cast: Cast) -> None:
    """The stop control of each milling unit, as somebody photographed it on the walk: an invented drawing."""
    for key, unit in cast.equipment.items():
        if unit.kind == "milling unit":
            by = cast.people["philippa" if unit.site.code == "high-street" else "ines"]
            shown = ShownPicture(
                drawn(unit.label),
                "The stop control, beside the door",
                SiteFact.objects.get(name="stop control"),
                unit=unit,
            )
            keep_photo(shown, site=unit.site, by=by, id=key_of("place photo", key))


def drawn(label: str) -> bytes:
    """A housing with its door, and a round button beside it."""
    picture = Image.new("RGB", (640, 480), "#d9ded9")
    draw, font = ImageDraw.Draw(picture), ImageFont.load_default(28)
    draw.rounded_rectangle((60, 60, 580, 430), 24, fill="#f7f8f6", outline="#48605a", width=5)
    draw.rounded_rectangle((110, 120, 400, 370), 16, fill="#b9c6c0", outline="#48605a", width=4)
    draw.ellipse((450, 200, 540, 290), fill="#9d2a36", outline="#14302b", width=5)
    draw.text((110, 76), label, "#14302b", font)
    return encoded(picture)


def places(cast: Cast, fact: SiteFact) -> list[tuple[Site, Equipment | None]]:
    """Every unit of the kind that is asked for; the sites themselves for a fact of the site."""
    if fact.of == "site":
        return [(site, None) for site in cast.sites.values()]
    return [(unit.site, unit) for unit in cast.equipment.values() if fact_is_for(fact.of, unit.kind)]


def fact_is_for(of: str, kind: str) -> bool:
    return kind == {"unit": "milling unit"}.get(of, of)
