"""The walk round as pages show it: fourteen questions, and under each what is asked of the site and of every unit."""

from dataclasses import dataclass
from datetime import date

from django.db.models import prefetch_related_objects

from clinic.models import Equipment, Site, SiteFact, SiteFactValue
from clinic.rules.site_text import NAME, names_in
from training.models import Version
from training.reads.library import walk_examples, walk_questions
from training.reads.pictures import Photo, newest_at
from training.reads.procedures import units_of
from training.rules.texts import WalkQuestion, content_from_json

SITE = "site"


@dataclass(frozen=True, slots=True)
class FactSquare:
    """One fact at one unit, or at the site. `used_in`: codes of procedures in force whose words need it; `sentence`: the first
    of these words, with every other fact by its name; `example`: an answer that fits."""

    fact: SiteFact
    unit: Equipment | None
    value: SiteFactValue | None
    used_in: tuple[str, ...]
    sentence: str = ""
    example: str = ""
    photo: Photo | None = None

    @property
    def around(self) -> tuple[str, str]:
        """What stands before and after the answer in its sentence."""
        before, _, after = self.sentence.partition("{" + self.fact.name + "}")
        return before, after

    @property
    def name(self) -> str:
        """Of its fields in the form."""
        return f"f{self.fact.pk}-{self.unit.pk if self.unit else SITE}"

    @property
    def place(self) -> str:
        return self.unit.label if self.unit else "the site"


@dataclass(frozen=True, slots=True)
class QuestionSquares:
    """A question of the walk round with its squares."""

    question: WalkQuestion
    squares: list[FactSquare]

    @property
    def missing(self) -> list[FactSquare]:
        return [square for square in self.squares if square.value is None]

    @property
    def answered(self) -> int:
        return len(self.squares) - len(self.missing)


def walk_round(site: Site, on: date) -> list[QuestionSquares]:
    """Every question with its squares, in order; six queries. A kind of which the site has no unit asks nothing."""
    facts, units = list(SiteFact.objects.all()), list(units_of(site, on))
    now, used = SiteFactValue.objects.latest_by_fact(site), where_used(site, on)
    examples, photos = walk_examples(), newest_at(site)
    prefetch_related_objects(list(now.values()), "recorded_by")
    by_question: dict[int, list[FactSquare]] = {}
    for fact in facts:
        places = [None] if fact.of == SITE else [unit for unit in units if unit.kind == fact.of]
        for unit in places:
            value = now.get((fact.pk, unit.pk if unit else None))
            codes, sentence = used.get(fact.name, ((), f"The {fact.name}: {{{fact.name}}}."))
            photo = photos.get(((fact.name, "", ""), unit.pk if unit else None))
            square = FactSquare(fact, unit, value, codes, sentence, examples.get(fact.name, ""), photo)
            by_question.setdefault(fact.question, []).append(square)
    return [QuestionSquares(question, by_question.get(question.number, [])) for question in walk_questions()]


def where_used(site: Site, on: date) -> dict[str, tuple[tuple[str, ...], str]]:
    """For each site fact the codes of the procedures in force whose steps need it, and the first sentence that does."""
    rows = Version.objects.live().in_force(on).filter(procedure__organisation=site.organisation)
    found: dict[str, dict[str, str]] = {}
    for version in rows.select_related("procedure").order_by("procedure__code"):
        for step in content_from_json(version.content).steps:
            for text in (step.do, f"When {step.when}: …" if step.when else "", step.caution):
                for name in names_in(text):
                    found.setdefault(name, {}).setdefault(version.procedure.code, text)
    return {
        name: (tuple(sorted(uses)), others_by_name(next(iter(uses.values())), name)) for name, uses in found.items()
    }


def others_by_name(text: str, but: str) -> str:
    return NAME.sub(lambda other: other[0] if other[1] == but else other[1], text)
