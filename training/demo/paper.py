"""Two days without the network: sheets printed before, written on at the bench, entered the day after.

The first is confirmed by whoever watched. The second waits, as there is always one that does.
"""

from datetime import date, timedelta

from PIL import Image, ImageDraw, ImageFont

from clinic import clock
from clinic.models import Person, Site
from clinic.photos import encoded
from training.actions.proof import Proved
from training.actions.sheets import OnSheet, confirm_sheet, enter_sheet, print_sheets
from training.demo.careers import Careers, mark_for
from training.demo.scenario import key_of
from training.demo.setting_up import Cast, version_in_force
from training.demo.walking_round import keeper_of
from training.models import SheetEntered, SheetsPrinted
from training.rules.facts import Method

CODE, COUNT = "P06", 10
PRINTED = 30  # weeks after the start
CONFIRMED, WAITING = 6, 1  # weeks before the last


def play_paper(cast: Cast, careers: Careers, week: int, days: list[date]) -> None:
    left = cast.scenario.weeks - week
    for site in cast.sites.values():
        if week == PRINTED:
            print_for(cast, site, days[0])
        elif left in (CONFIRMED, WAITING) and len(days) > 2:
            row = enter_one(cast, careers, site, days[1], CONFIRMED - left)
            if row is not None and left == CONFIRMED:
                confirm(cast, row, days[2])


def print_for(cast: Cast, site: Site, day: date) -> None:
    version, id = version_in_force(cast, CODE, day), key_of("sheets", site.code)
    with clock.standing_at(cast.scenario.instant(day, 17, 20)):
        print_sheets(version, COUNT, site=site, unit=None, by=keeper_of(cast, site), id=id)


def enter_one(cast: Cast, careers: Careers, site: Site, day: date, turn: int) -> SheetEntered | None:
    """Somebody who may do it alone is watched at it, and whoever keeps the roster types it in the next morning."""
    by, printed = keeper_of(cast, site), SheetsPrinted.objects.get(pk=key_of("sheets", site.code))
    people = pair_on(cast, careers, site, day, by)
    if people is None:
        return None
    (person, watcher), start = people, cast.scenario.instant(day, 15, 5)
    unit = next(each for each in cast.equipment.values() if each.site == site and each.kind == "milling unit")
    said = OnSheet(
        id=key_of("sheet", site.code, turn), number=printed.first + turn, person=person, observer=watcher,
        purpose="assessment", method=Method.REAL, started_at=start, finished_at=start + timedelta(minutes=24),
        equipment=unit, own_word="ready", notes="The network was down.",
        marks={step.key: mark_for(step, 1) for step in printed.version.text.steps}, photo=photo_of(printed.first + turn),
    )  # fmt: skip
    with clock.standing_at(cast.scenario.instant(day + timedelta(days=1), 8, 5)):
        return enter_sheet(said, site=site, by=by)


def photo_of(number: int) -> bytes:
    """A picture of a filled-in sheet: lines, boxes and ticks."""
    sheet = Image.new("RGB", (600, 848), "#f4f1e8")
    draw, font = ImageDraw.Draw(sheet), ImageFont.load_default(26)
    draw.text((40, 40), f"Blank checklist {CODE}", "#223", font)
    draw.text((440, 40), f"Sheet {number:04}", "#223", font)
    for y in range(120, 800, 40):
        draw.line((40, y, 560, y), "#99a", 2)
        draw.rectangle((470, y + 8, 492, y + 30), outline="#223", width=2)
        draw.line([(473, y + 18), (480, y + 26), (498, y + 2)], "#1c3f9c", 4)
    return encoded(sheet)


def pair_on(cast: Cast, careers: Careers, site: Site, day: date, by: Person) -> tuple[Person, Person] | None:
    """Somebody of the site who holds it, and who may watch them; never whoever enters the sheet about themselves."""
    for actor in careers.learners(day):
        person = cast.people[actor.key]
        if actor.site == site.code and person != by and careers.holds(actor, CODE, day):
            watcher = careers.watcher(actor, CODE, day, 0)
            if watcher is not None:
                return person, watcher
    return None


def confirm(cast: Cast, row: SheetEntered, day: date) -> None:
    assert row.observer is not None  # those of the demo are watched by somebody of the practice
    with clock.standing_at(cast.scenario.instant(day, 17, 40)):
        confirm_sheet(row, by=row.observer, proved=Proved("sign-in name and password", clock.now()))
