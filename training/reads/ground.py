"""What a signature would rest on, as the sign page and the paper show it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial
from uuid import UUID

from clinic.models import Person, Site, UpkeepEntry
from clinic.prepared import Instances, Prepared
from clinic.rules.words import clock_words, counted, day_words
from training import gather, spans
from training.gather_near import near_facts
from training.models import InstructionsCheck, KnowledgeResult, Observation, Procedure, SignOff, Version
from training.permissions import has_authority
from training.reads.sheets import OF_PAPER, paper_words
from training.rules import signing
from training.rules.elements import NAMES, CompetenceElement, elements
from training.rules.evidence import EvidenceDetail, Piece
from training.rules.facts import CheckTaken, Mark, Method, Observed, State
from training.rules.order import with_prerequisites
from training.rules.signing import Code, SigningRefusal
from training.rules.standing import Standing, evidence_on, timelines, valid_until_if_signed
from training.rules.wording import METHODS, piece_missing, piece_there

VERSION = Instances(
    Version, lambda procedure, number: Version.objects.live().filter(procedure__in=procedure, number__in=number)
)
CHECKED = Prepared(lambda version: InstructionsCheck.objects.live().filter(version__in=version).values_list("pk"))
TITLES = Prepared(
    lambda organisation: Procedure.objects.filter(organisation__in=organisation).values_list("code", "title")
)
MARKS = Prepared(lambda observations: Observation.objects.filter(pk__in=observations).values_list("marks"))
ENTRIES = Prepared(
    lambda observations: UpkeepEntry.objects.live().filter(from_observation__in=observations).values_list("pk")
)
SIGNERS_OWN = {Code.SELF, Code.NO_AUTHORITY, Code.SIGNER_NOT_USABLE}


@dataclass(frozen=True, slots=True)
class Ground:
    """What a sign-off on a day would rest on, and every reason against it. The page and the action read the same."""

    version: Version | None
    standing: Standing
    detail: EvidenceDetail
    valid_until: date | None
    refusals: tuple[signing.SigningRefusal, ...]
    six: tuple[CompetenceElement, ...]

    @property
    def lowered(self) -> list[str]:
        pieces = self.detail.pieces
        return [f"{p.kind}: {p.needed} instead of {p.asked}, {p.lowered_because}" for p in pieces if p.lowered_because]


def ground(person: Person, procedure: Procedure, signer: Person, site: Site, day: date) -> Ground:
    """Read the facts of both people once and ask the rules."""
    standing, signers = standings(person, signer, procedure)
    detail = evidence_on(standing, day)
    version = next(iter(VERSION.all(procedure=[procedure.pk], number=[detail.version or 0])), None)
    if version is not None:
        version.procedure = procedure
    asked = partial(
        signing.may_sign,
        person=str(person.pk),
        signer=str(signer.pk),
        has_authority=has_authority(signer, procedure, site, day),
        signer_standing=signers.on(day),
        detail=detail,
        checked=version is not None and any(CHECKED.rows(version=[version.pk])),
    )
    refusals = asked()
    if refusals:  # only what is refused names anything
        refusals = asked(names=dict(TITLES.rows(organisation=[procedure.organisation_id])))
    six = elements_of(standing, detail, version.asks.upkeep_covered if version else ())
    return Ground(version, standing, detail, valid_until_if_signed(standing, day), refusals, six)


def standings(person: Person, signer: Person, procedure: Procedure) -> tuple[Standing, Standing]:
    """Where both stand in it: from its own facts and what is stored of what it rests on, or where stored timelines wait from
    all facts."""
    organisation, code = procedure.organisation, procedure.code
    whole = gather.programme(organisation)
    if spans.are_stored():
        read = spans.read_once(whole, organisation, [person, signer], {code})  # as what is written then reads them
        near = near_facts(organisation, [person, signer], [code], whole, read=read)
        found = {pk: timelines({code: whole[code]}, each.facts, usable=each.usable) for pk, each in near.items()}
    else:
        part = with_prerequisites(whole, code)
        facts = gather.people_facts(
            organisation, [person, signer], codes=part, evidence_of=[person], evidence_in=[code], whole=whole
        )
        found = {pk: timelines(part, each, only={code}) for pk, each in facts.items()}
    return found[str(person.pk)][code], found[str(signer.pk)][code]


def elements_of(standing: Standing, detail: EvidenceDetail, covered: tuple[str, ...]) -> tuple[CompetenceElement, ...]:
    used = [fact for fact in standing.course.facts if fact.id in set(detail.rests_on)]
    met = [fact for fact in used if isinstance(fact, Observed)]
    keys = [UUID(fact.id) for fact in met]
    return elements(
        met,
        covers_upkeep=bool(covered),
        entries_checked=len(list(ENTRIES.rows(observations=keys))),
        asked_steps=sum(
            1 for (marks,) in MARKS.rows(observations=keys) for mark in marks if mark["mark"] == Mark.ASKED
        ),
        check_passed=any(isinstance(fact, CheckTaken) for fact in used),
    )


@dataclass(frozen=True, slots=True)
class Tray:
    """One piece for the refusal board."""

    there: bool
    says: str
    supply: str = ""


@dataclass(frozen=True, slots=True)
class Rest:
    """One piece of evidence in words, with the page of its record. `word`: what the one watched said of it."""

    says: str
    observation: UUID | None = None
    result: UUID | None = None
    word: str = ""


@dataclass(frozen=True, slots=True)
class SignPage:
    """Everything the sign page shows for one person, procedure and day."""

    ground: Ground
    trays: list[Tray]
    statement: str
    rests_on: list[Rest]
    set_aside: list[Rest]
    six: list[tuple[int, str, str]]
    signers_own: list[SigningRefusal]  # against whoever is signed in; somebody else may still sign here

    @property
    def can_be_signed(self) -> bool:
        """By somebody, today."""
        return all(each.code in SIGNERS_OWN for each in self.ground.refusals) and self.ground.version is not None

    @property
    def says(self) -> str:
        """The answer that the page says first."""
        if self.can_be_signed:
            return "It can be renewed now." if self.ground.detail.for_renewal else "It can be signed now."
        missing = sum(not tray.there for tray in self.trays)
        return f"It cannot be signed yet: {counted(missing, 'piece is', 'pieces are')} missing."


def sign_page(person: Person, procedure: Procedure, signer: Person, site: Site, day: date) -> SignPage:
    found = ground(person, procedure, signer, site, day)
    names = names_of(found, procedure)
    own = [each for each in found.refusals if each.code in SIGNERS_OWN]
    return SignPage(
        ground=found,
        trays=list(trays(found, names)),
        statement=statement(person, procedure, site, found),
        rests_on=rests_on(found.detail.rests_on),
        set_aside=set_aside(found.detail.set_aside, found.detail.for_renewal),
        six=[(each.number, each.name, each.how) for each in found.six],
        signers_own=own,
    )


def names_of(found: Ground, procedure: Procedure) -> dict[str, str]:
    """Titles of procedures, and the case of each step that has one."""
    steps = found.version.text.steps if found.version else ()
    titles = dict(Procedure.objects.filter(organisation=procedure.organisation_id).values_list("code", "title"))
    return titles | {step.key: f"“when {step.when}”" for step in steps if step.when}


def trays(found: Ground, names: dict[str, str]) -> Iterator[Tray]:
    """Every piece asked, in place or missing; then what else stands against it, the signer's own part aside."""
    yield from (tray_of(piece, names) for piece in found.detail.pieces)
    kinds = {piece.kind for piece in found.detail.pieces}
    for each in found.refusals:
        if each.code not in kinds and each.code not in SIGNERS_OWN:
            yield Tray(False, each.says, each.supply)


def tray_of(piece: Piece, names: dict[str, str]) -> Tray:
    return Tray(True, piece_there(piece)) if piece.is_there else Tray(False, *piece_missing(piece, names))


def statement(person: Person, procedure: Procedure, site: Site, found: Ground) -> str:
    """The very words that are signed (row E-13: what the signature means)."""
    through = (
        f"through {day_words(found.valid_until)} at the latest"
        if found.valid_until
        else "until something recorded ends it"
    )
    number = found.version.number if found.version else "–"
    return (
        f"{person} may do {procedure.title} ({procedure.code}) at {site.name} without supervision, as version {number} "
        f"describes it, {through}."
    )


def rests_on(ids: Iterable[str]) -> list[Rest]:
    """Each fact a sign-off rests on, in words, by day."""
    found = [
        (row.happened_on, Rest(observation_words(row), observation=row.pk, word=word_words(row)))
        for row in observations(ids)
    ]
    found += [
        (row.happened_on, Rest(f"Knowledge check passed on {day_words(row.happened_on)}.", result=row.pk))
        for row in KnowledgeResult.objects.filter(pk__in=list(ids))
    ]
    return [rest for _, rest in sorted(found, key=lambda each: (each[0], each[1].says))]


def observations(ids: Iterable[str]) -> Iterable[Observation]:
    return Observation.objects.filter(pk__in=list(ids)).select_related(
        "observer", "witness", "equipment", "person", "site", *OF_PAPER
    )


def set_aside(facts: Sequence[Observed], renewal: bool) -> list[Rest]:
    """Met assessments that do not count, each with who watched it and where they stood that day, or the paper it is from."""
    states = {fact.id: fact.set_aside for fact in facts}
    rows = sorted(observations(states), key=lambda row: (row.happened_on, str(row.pk)))
    return [
        Rest(set_aside_words(row, states[str(row.pk)], renewal), observation=row.pk, word=word_words(row))
        for row in rows
    ]


def set_aside_words(row: Observation, state: State | None, renewal: bool) -> str:
    """Who watched, on which day, and why it is no evidence. Without a state of whoever watched it is for being from paper."""
    if state is None:
        return (
            f"The assessment of {day_words(row.happened_on)} does not count for {'a renewal' if renewal else 'a first sign-off'}: "
            f"it is {paper_words(row)}, and the policy takes none from paper for that. Watch again at the bench."
        )
    return (
        f"The assessment of {day_words(row.happened_on)} does not count: {row.observer}, who watched it, could not work "
        f"alone in it then ({state}). Let somebody who may work alone in it watch again."
    )


def word_words(row: Observation) -> str:
    """What the one watched said of it, in their own words where they gave some."""
    said = f"{row.get_own_word_display()}." if row.own_word else "not said." if not row.own_words else ""
    own = f"“{row.own_words}”" if row.own_words else ""
    return f"{row.person.given_name}’s own word: {' '.join(filter(None, (said, own)))}"


def observation_words(row: Observation) -> str:
    unit = f", {row.equipment}" if row.equipment else ""
    paper = f"; {paper_words(row)}" if row.sheet else ""
    method = METHODS[Method(row.method)]
    return f"Assessment met on {day_words(row.happened_on)}: {method}{unit}, watched by {row.observer or row.witness}{paper}."


def signature_facts(signed: SignOff) -> list[tuple[str, str]]:
    """Printed name, time and meaning (row E-13), and how the signer proved who they are."""
    return [
        ("Signed by", signed.signer.named_then(signed.signer_name)),
        ("Day and time", f"{signed_at(signed)} ({signed.site.time_zone})"),
        ("Meaning", signed.meaning),
        ("Proved by", signed.reidentified),
        ("Valid through", day_words(signed.valid_until) if signed.valid_until else "no last day"),
        ("Version", f"{signed.version.number}, in force from {day_words(signed.version.in_force_from)}"),
    ]


def signed_at(signed: SignOff) -> str:
    """A sign-off has always its time; the column of all facts may be empty."""
    at = f" at {clock_words(signed.happened_at)}" if signed.happened_at else ""
    return f"{day_words(signed.happened_on)}{at}"


def six_of(signed: SignOff) -> list[tuple[int, str, str]]:
    """The six elements (rows K-01, K-06) with how each was covered, from the record."""
    return [(number, name, signed.elements.get(str(number), "")) for number, name in enumerate(NAMES, start=1)]
