"""One fact in words, with its seal, for the page that every cell and every line of a binder leads back to."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import Field, ForeignKey, Model

from clinic.facts import row_of
from clinic.models import Fact, Purged, Seal, Site
from clinic.rules.site_text import by_name
from clinic.rules.words import day_words
from training.models import IndependentMarking, Observation, Signature

QUIET = {
    "id",
    "performance",
    "from_observation",
    "site",
    "recorded_by",
    "recorded_at",
    "happened_on",
    "happened_at",
    "corrects",
    "reason",
}


@dataclass(frozen=True, slots=True)
class FactPage:
    """A fact as its page shows it. `corrected_by` names the seal of a later fact that voids it."""

    fact: Fact
    seal: Seal
    name: str
    rows: list[tuple[str, Any]]
    long: list[tuple[str, Any]]
    corrects: Seal | None
    corrected_by: Seal | None
    signature: Signature | None

    @property
    def signed(self) -> list[tuple[str, Any]]:
        """Printed name, time and meaning of the signature beside it, and how the signer was proved (row E-13)."""
        row = self.signature
        if row is None:
            return []
        when = f"{day_words(row.happened_on)}, {row.happened_at:%H:%M}"
        return [
            ("Signed by", row.signer_name),
            ("Day and time", f"{when} ({row.site.time_zone})"),
            ("Meaning", row.meaning),
            ("Proved by", row.reidentified),
        ]

    @property
    def in_full(self) -> list[tuple[str, list[str]]]:
        """The long parts, a line for each piece."""
        return [(name, lines_of(value)) for name, value in self.long]


def fact_page(site: Site, fact_id: UUID) -> FactPage | None:
    """None where this site's chain has no such fact."""
    seal = Seal.objects.filter(site=site, fact=fact_id).first()
    fact = row_of(seal.kind, seal.fact) if seal else None
    if seal is None or not isinstance(fact, Fact):
        return None
    fields = [field for field in fact._meta.concrete_fields if field.name not in QUIET]
    return FactPage(
        fact=fact,
        seal=seal,
        name=str(fact._meta.verbose_name),
        rows=[
            (words(field), said)
            for field in fields
            if not is_long(fact, field) and (said := value(fact, field)) not in ("", None)
        ],
        long=[
            (words(field), long_value(fact, field))
            for field in fields
            if is_long(fact, field) and field.value_from_object(fact)
        ],
        corrects=Seal.objects.filter(fact=fact.corrects).first() if fact.corrects else None,
        corrected_by=Seal.objects.filter(corrects=fact.pk).first(),
        signature=Signature.objects.filter(signs=fact.pk).select_related("site").first(),
    )


def purged_by(site: Site, fact_id: UUID) -> Purged | None:
    """The note that says what the fact sealed, where its contents were taken away after their period."""
    return Purged.objects.filter(site=site, contents__has_key=str(fact_id)).first()


def is_long(fact: Model, field: "Field[Any, Any]") -> bool:
    return isinstance(field.value_from_object(fact), list | dict)


def long_value(fact: Fact, field: "Field[Any, Any]") -> Any:
    """As stored; the marks of an observation with the words of their steps."""
    stored = field.value_from_object(fact)
    if field.name != "marks" or not isinstance(fact, Observation | IndependentMarking):
        return stored
    version = fact.version if isinstance(fact, Observation) else fact.observation.version
    steps = {step.key: step.do for step in version.text.steps}
    said = {key: by_name(do) for key, do in steps.items()}
    return [f"{mark['mark'].capitalize()}: {said.get(mark['step'], mark['step'])}" for mark in stored]


def words(field: "Field[Any, Any]") -> str:
    return str(field.verbose_name).replace("_", " ").capitalize()


def value(fact: Model, field: "Field[Any, Any]") -> Any:
    """The row's own words: a name instead of a key, a choice instead of its code."""
    if isinstance(field, ForeignKey):
        found = getattr(fact, field.name)
        return str(found) if found is not None else ""
    if field.choices:
        return getattr(fact, f"get_{field.name}_display")()
    found = field.value_from_object(fact)
    return {True: "yes", False: "no"}.get(found, found) if isinstance(found, bool) else found


def lines_of(value: Any) -> list[str]:
    """A stored list or mapping as lines of words: nothing is left out, and nothing looks like code."""
    if isinstance(value, dict):
        return [f"{key}: {in_words(part)}" for key, part in value.items()]
    return [in_words(part) for part in value] if isinstance(value, list) else [in_words(value)]


def in_words(value: Any) -> str:
    if isinstance(value, dict):
        return ", ".join(f"{key} {in_words(part)}" for key, part in value.items())
    if isinstance(value, list):
        return "; ".join(in_words(part) for part in value)
    return (
        {None: "nothing", True: "yes", False: "no"}.get(value, str(value))
        if isinstance(value, bool | None)
        else str(value)
    )
