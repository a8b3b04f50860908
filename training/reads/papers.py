"""What hangs on the wall and lies in the drawer: rows to the plain content of wall cards, blank checklists and labels."""

from dataclasses import dataclass
from datetime import date

from clinic.models import Equipment, EquipmentKind, Site
from clinic.reads.site_answers import answers_at
from clinic.rules.words import counted
from clinic.stop_rules import stop_rules
from training.documents.checklist import BlankStep, ChecklistContent
from training.documents.slips import WallLabelContent
from training.documents.wall_card import MOST_LINES, CardLine, WallCardContent
from training.models import InstructionsCheck, Procedure, SheetsPrinted, Version
from training.reads.library import makers
from training.reads.pictures import photos_at, picture_of
from training.reads.procedures import units_of
from training.rules.maker_wins import maker_wins
from training.rules.place import Answers, said, steps_here
from training.rules.texts import Step

PAPER_LANGUAGE = "en-GB"
STOP_ANYWHERE = "Say “stop”. Everybody steps back. Make it safe where you can do so unhurt, and call a supervisor."


@dataclass(frozen=True, slots=True)
class VersionHere:
    """A version as it reads at one place: the steps that apply there, with the answers of the walk round."""

    version: Version
    site: Site
    unit: Equipment | None
    answers: Answers
    steps: tuple[Step, ...]

    @property
    def place(self) -> str:
        return f"{self.site.name}, {self.unit.label}" if self.unit else self.site.name

    def says(self, words: str) -> str:
        return said(words, self.answers)


def version_here(procedure: Procedure, site: Site, on: date, unit: Equipment | None) -> VersionHere | None:
    """The version in force, at the unit or, without one, at the only unit of its kind; None where nothing is to be done
    step by step (a taught topic, or no version in force yet)."""
    version = Version.objects.live().in_force(on).filter(procedure=procedure).select_related("procedure").first()
    if version is None or not version.text.steps:
        return None
    units = list(units_of(site, on, procedure.equipment_kind))
    unit = unit if unit in units else (units[0] if len(units) == 1 else None)
    answers = answers_at(site, unit)
    return VersionHere(version, site, unit, answers, steps_here(version.text.steps, answers))


def here_of(printed: SheetsPrinted) -> VersionHere:
    """The version and the place of sheets that were printed."""
    answers = answers_at(printed.site, printed.equipment)
    return VersionHere(
        printed.version, printed.site, printed.equipment, answers, steps_here(printed.version.text.steps, answers)
    )


def maker_words(version: Version) -> str:
    """The maker's instructions that the version was last checked against; empty where it was not."""
    last = InstructionsCheck.objects.live().filter(version=version).order_by("recorded_at").last()
    return f"the maker’s instructions ({last.title}, {last.edition})" if last else ""


def wall_card(here: VersionHere) -> WallCardContent:
    """Every critical step with its caution, and others up to fifteen lines; each bears its number in the procedure."""
    kept = for_the_wall(here.steps)
    numbers = {step.key: n for n, step in enumerate(here.steps, 1)}
    return WallCardContent(
        paper=here.site.paper,
        language=PAPER_LANGUAGE,
        code=here.version.procedure.code,
        title=here.version.procedure.title,
        version=here.version.number,
        place=here.place,
        since=here.version.in_force_from.isoformat(),
        lines=[card_line(here, step, numbers[step.key]) for step in kept],
        stop=how_to_stop(here),
        maker=maker_words(here.version),
        more=left_out(here.steps, kept),
    )


def card_line(here: VersionHere, step: Step, number: int) -> CardLine:
    caution = here.says(step.caution) if step.critical else ""
    return CardLine(with_case(here, step), step.critical, maker_wins(step, makers()), number, caution)


def wall_pictures(here: VersionHere) -> dict[int, bytes]:
    """By the number of the line on the card, from 0: the photo that stands beside the step."""
    photos, code = photos_at(here.site, here.unit), here.version.procedure.code
    beside = ((n, photos.of_step(code, step)) for n, step in enumerate(for_the_wall(here.steps)))
    return {n: picture_of(found[0]) for n, found in beside if found}


def how_to_stop(here: VersionHere) -> str:
    """The acts of the stop rules where a unit can be stopped, with the place's own words."""
    if here.version.procedure.equipment_kind != EquipmentKind.MILLING_UNIT:
        return STOP_ANYWHERE
    return here.says(" ".join(stop_rules().acts))


def for_the_wall(steps: tuple[Step, ...]) -> tuple[Step, ...]:
    """Every critical step; while there are fewer than fifteen, others, those for every case before those with a when. Shown
    in their own order."""
    by_weight = sorted(range(len(steps)), key=lambda n: (not steps[n].critical, bool(steps[n].when), n))
    most = max(MOST_LINES, sum(step.critical for step in steps))
    return tuple(steps[n] for n in sorted(by_weight[:most]))


def left_out(steps: tuple[Step, ...], kept: tuple[Step, ...]) -> str:
    """What the card does not show, so that nobody takes it for the whole."""
    left = len(steps) - len(kept)
    return f"{counted(left, 'more step')}, none of them critical: see the checklist." if left else ""


def with_case(here: VersionHere, step: Step) -> str:
    return here.says(f"When {step.when}: {step.do}" if step.when else step.do)


def blank_checklist(here: VersionHere, printed: SheetsPrinted) -> ChecklistContent:
    """Every step that applies at the place, with its caution, on each of the sheets."""
    text, procedure = here.version.text, here.version.procedure
    steps = [
        BlankStep(
            here.says(step.do), step.critical, said(step.when, here.answers, begins=False), here.says(step.caution)
        )
        for step in here.steps
    ]
    return ChecklistContent(
        paper=here.site.paper,
        language=PAPER_LANGUAGE,
        site=here.site.name,
        code=procedure.code,
        title=procedure.title,
        version=here.version.number,
        printed_at=f"{printed.happened_on.isoformat()}T{printed.happened_at:%H:%M}",
        sheets=list(printed.numbers),
        steps=steps,
        place=here.place,
        maker=maker_words(here.version),
        hazards=[here.says(words) for words in text.hazards],
        protection=[here.says(words) for words in text.protective_equipment],
    )


def wall_label(unit: Equipment, address: str) -> WallLabelContent:
    """The address leads to the page where upkeep of the unit is logged."""
    return WallLabelContent(PAPER_LANGUAGE, unit.site.name, unit.label, unit.get_kind_display(), unit.serial, address)
