"""What a certificate says, gathered once when it is issued, and what its check page says on any later day."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from clinic import clock
from clinic.checkpoints import checking_command, head
from clinic.models import Appointment, Person, RoleHeld, Seal, Site
from clinic.models.people import holds_on
from clinic.rules.words import day_words, in_text, listed
from training.documents.certificate import CertificateContent, Element
from training.models import FoundingGrant, InstructionsCheck, Issue, KnowledgeResult, Observation, Procedure, SignOff
from training.reads.ground import six_of
from training.reads.sheets import OF_PAPER, entered_words
from training.reads.standing import sentence_on, span_on
from training.rules.facts import Basis, Mark, Method, State
from training.rules.learning import counts_sentence
from training.rules.outcome import RIGHT
from training.rules.wording import BASES, METHODS

PAPER_LANGUAGE = "en-GB"


@dataclass(frozen=True, slots=True)
class IssueIdentity:
    """What makes one issue different from another of the same sign-off."""

    number: str
    code: str
    check_url: str
    issued_on: date
    replaces: str


def content_of(signed: SignOff, identity: IssueIdentity) -> CertificateContent:
    """Every word of the certificate, from the sign-off and the facts it rests on."""
    version, site = signed.version, signed.site
    return CertificateContent(
        **identity_words(identity),
        **seen_words(signed),
        **signature_words(signed),
        paper=site.paper,
        language=PAPER_LANGUAGE,
        organisation=site.organisation.name,
        site=site.name,
        address=" ".join(site.address.split()),
        person=signed.person.printed_name,
        procedure_code=version.procedure.code,
        procedure_title=version.procedure.title,
        version=version.number,
        in_force_from=version.in_force_from.isoformat(),
        unit=str(signed.equipment or ""),
        through=last_good_day(signed, identity.issued_on),
        says=sentence_on(signed.person, version.procedure, identity.issued_on),
        basis=BASES[Basis.OBSERVED],
        lowered="; ".join(signed.lowered),
        rests_on=[rests_words(signed, code) for code in version.asks.prerequisites],
        maker=maker_words(signed),
    )


def identity_words(identity: IssueIdentity) -> dict[str, Any]:
    return {
        "number": identity.number,
        "issued_at": identity.issued_on.isoformat(),
        "check_code": identity.code,
        "check_url": identity.check_url,
        "replaces": identity.replaces,
    }


def seen_words(signed: SignOff) -> dict[str, Any]:
    """What was watched, counted: the performances that the sign-off rests on, by whom, when and how."""
    rows = Observation.objects.filter(pk__in=signed.evidence).select_related("observer", "witness", *OF_PAPER)
    seen = list(rows.order_by("happened_on", "pk"))
    return {
        "performances": len(seen),
        "performances_clean": sum(met_every_critical_step(row) for row in seen),
        "methods": methods_words(seen),
        "check": check_words(signed),
        "watched_on": sorted({row.happened_on.isoformat() for row in seen}),
        "watched_by": watchers(seen, signed),
        "from_paper": [f"{day_words(row.happened_on)}, {entered_words(row)}" for row in seen if row.sheet],
        "elements": [Element(name, bool(how), how) for _, name, how in six_of(signed)],
    }


def signature_words(signed: SignOff) -> dict[str, Any]:
    return {
        "signer": signed.signer_name,
        "signer_role": signer_words(signed),
        "signed_at": f"{signed.happened_on.isoformat()}T{signed.happened_at:%H:%M}",
        "signed_how": f"proved by {signed.reidentified}",
        "meaning": signed.meaning,
        "statement": signed.statement,
        "seal": seal_of(signed),
        "log_check": checking_command(signed.site, head(signed.site)),
    }


def last_good_day(signed: SignOff, day: date) -> str:
    """Whatever ends it, as known on the day of issue: often the sign-off's own last day, sometimes what it rests on."""
    last = span_on(signed.person, signed.version.procedure, day).ends_on
    return last.isoformat() if last else ""


def met_every_critical_step(row: Observation) -> bool:
    """A critical step that did not arise counts for nothing; every other one was right with no help."""
    critical = {step.key for step in row.version.text.steps if step.critical}
    marks = [Mark(each["mark"]) for each in row.marks if each["step"] in critical]
    return not row.stopped and all(mark in RIGHT for mark in marks if mark is not Mark.NOT_NEEDED)


def methods_words(seen: list[Observation]) -> str:
    """3 by real work, 2 by practice piece."""
    used = [Method(row.method) for row in seen]
    return listed([f"{used.count(method)} by {METHODS[method]}" for method in Method if method in used])


def check_words(signed: SignOff) -> str:
    result = KnowledgeResult.objects.filter(pk__in=signed.evidence).order_by("happened_on").last()
    return f"knowledge check passed on {day_words(result.happened_on)}" if result else "no knowledge check needed"


def watchers(seen: list[Observation], signed: SignOff) -> list[str]:
    """Each once, with the job roles held on the last day of watching, in the order of watching; whose watching counts by a
    founding grant, with that."""
    found: dict[tuple[Any, Any], str] = {}
    for row in seen:
        name = row.observer.printed_name if row.observer else str(row.witness)
        role = role_words(row.observer, signed.site, row.happened_on) if row.observer else "outside witness"
        founder = founder_words(row.observer, signed, row.happened_on) if row.observer else ""
        found[row.observer_id, row.witness_id] = ", ".join(filter(None, (name, role, founder)))
    return list(found.values())


def signer_words(signed: SignOff) -> str:
    role = role_words(signed.signer, signed.site, signed.happened_on) or "supervisor"
    return ", ".join(filter(None, (role, founder_words(signed.signer, signed))))


def founder_words(person: Person, signed: SignOff, day: date | None = None) -> str:
    """Where somebody watched or signed by a founding grant: nobody had watched them here."""
    on, procedure = day or signed.happened_on, signed.version.procedure
    mine = FoundingGrant.objects.live().filter(person=person, site=signed.site)
    is_founder = any(grant.covers(procedure) and grant.happened_on <= on <= (grant.to_day or on) for grant in mine)
    return BASES[Basis.FOUNDING] if is_founder else ""


def rests_words(signed: SignOff, code: str) -> str:
    """A procedure that it rests on; how it was held on the day of signing, where that was not by evidence of its own."""
    procedure = Procedure.objects.get(organisation=signed.site.organisation, code=code)
    basis = span_on(signed.person, procedure, signed.happened_on).basis
    return f"{code} ({BASES[basis]})" if basis in (Basis.CARRIED_OVER, Basis.FOUNDING) else code


def role_words(person: Person, site: Site, day: date) -> str:
    """Job roles and posts of a person on a day."""
    roles = RoleHeld.objects.held_on(day).filter(person=person, site=site).select_related("job_role")
    posts = Appointment.objects.filter(holds_on(day), person=person)
    words = [in_text(held.job_role.title) for held in roles] + [post.get_post_display() for post in posts]
    return ", ".join(dict.fromkeys(words))


def seal_of(signed: SignOff) -> str:
    row = Seal.objects.get(fact=signed.pk)
    return f"{row.position} {row.digest[:16]}"


def maker_words(signed: SignOff) -> str:
    """The maker's instructions that the version had been checked against when it was signed."""
    rows = InstructionsCheck.objects.live().filter(version=signed.version, recorded_at__lte=signed.recorded_at)
    last = rows.order_by("recorded_at").last()
    return f"the maker’s instructions: {last.title}, {last.edition}" if last else ""


@dataclass(frozen=True, slots=True)
class Check:
    """What the check page says: never more than the certificate itself, and how it stands today."""

    issue: Issue
    content: CertificateContent
    in_force: bool
    says: str  # the answer, in one sentence
    then: str  # what follows, or empty
    counts: str
    alone: str  # the sentence of today; empty where the record it rests on was taken back

    @property
    def rows(self) -> list[tuple[str, str]]:
        """The paper's own words, and how it stands today."""
        c = self.content
        through = day_words(date.fromisoformat(c.through)) if c.through else "no last day"
        paper = [("From paper", "; ".join(c.from_paper))] if c.from_paper else []
        today = [("May work alone today?", self.alone)] if self.alone else []
        return [
            ("Person", c.person),
            ("Procedure", f"{c.procedure_title} ({c.procedure_code}), version {c.version}"),
            ("Unit", c.unit or "any unit of its kind at the site"),
            ("Signed", f"{c.signer}, {day_words(date.fromisoformat(c.signed_at[:10]))} at {c.signed_at[11:16]}"),
            ("Meaning", c.meaning),
            ("On the paper, valid through", through),
            ("Seen", self.counts),
            *paper,
            ("Lowered", c.lowered or "no number was lowered"),
            ("Issued", day_words(date.fromisoformat(c.issued_at))),
            *today,
        ]


def check_page(issue: Issue) -> Check:
    """How a certificate stands on the day it is at its site."""
    content = content_from(issue.frozen)
    today = clock.today(issue.site.time_zone)
    newer = newest(issue)
    says, then, in_force = how_it_stands(issue, newer, today)
    counts = counts_sentence(content.performances_clean, content.performances)
    alone = sentence_on(issue.person, issue.procedure, today) if stands(issue) else ""  # type: ignore[arg-type]
    return Check(issue, content, in_force, says, then, counts, alone)


def not_in_force(issue: Issue) -> str:
    """Why it is not in force any more, in a sentence; empty while it is."""
    page = check_page(issue)
    return "" if page.in_force else page.says


def newest(issue: Issue) -> Issue | None:
    """The last certificate that replaced it, link by link."""
    later = getattr(issue, "replaced_by", None)
    while later is not None and (after := getattr(later, "replaced_by", None)):
        later = after
    return later


def how_it_stands(issue: Issue, newer: Issue | None, today: date) -> tuple[str, str, bool]:
    """The answer, what follows, and whether the certificate is in force on the day."""
    if not stands(issue):
        return "Not in force: the record it rests on was taken back.", "", False
    span = span_on(issue.person, issue.procedure, today)  # type: ignore[arg-type]
    if span.state is State.WITHDRAWN:
        return f"Not in force: withdrawn on {day_words(span.first)}.", "", False
    if newer is not None:
        then = f"Certificate {newer.number} took its place on {day_words(newer.happened_on)}."
        return "Superseded: a newer certificate took its place.", then, False
    if renewed := renewal_of(issue):
        return (
            f"Superseded: renewed on {day_words(renewed.happened_on)}.",
            "Ask the practice for the new certificate.",
            False,
        )
    if span.state.is_usable:
        through = f" through {day_words(span.ends_on)}" if span.ends_on else ""
        return f"In force{through}.", "It ends earlier where the record says so: ask again on the day.", True
    if span.state is State.LAPSED:
        return f"Not in force since {day_words(span.first)}: lapsed.", "", False
    return "Not in force: something it rests on does not hold.", "", False


def renewal_of(issue: Issue) -> SignOff | None:
    """A later sign-off of the same person in the same procedure."""
    signed = SignOff.objects.live().filter(person=issue.person, version__procedure=issue.procedure)
    first = issue.sign_off
    return signed.filter(recorded_at__gt=first.recorded_at).order_by("recorded_at").last() if first else None


def stands(issue: Issue) -> bool:
    """Neither the certificate nor its sign-off was taken back."""
    live = Issue.objects.live().filter(pk=issue.pk, sign_off__in=SignOff.objects.live())
    return live.exists()


def content_from(frozen: dict[str, Any]) -> CertificateContent:
    """The frozen content as it was issued."""
    return CertificateContent.from_plain(frozen)
