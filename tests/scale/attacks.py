"""Planned attacks on the record, by somebody who has the database and knows how it is sealed.

Each is a name, a deed, and whether only a head that lies elsewhere shows it: whoever seals the whole chain anew leaves
nothing in the database that does not fit. Used by `tests.scale.tamper_drill` and its test.
"""

from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any
from uuid import uuid4

from django.conf import settings
from django.db.models import F

from clinic.models import (
    Appointment,
    Change,
    Equipment,
    Fact,
    KeptElsewhere,
    Person,
    Seal,
    SealShape,
    Site,
    UpkeepTask,
    Voiding,
)
from clinic.record import seal
from clinic.reference import REFERENCE
from clinic.rules.seal import digest, link
from clinic.seals import fact_models, facts_of
from tests.cast import REGISTER_START
from training import spans
from training.models import EvidenceSpan, InspectorPass, Issue, Observation, Requirement, SignOff, StandingSpan
from training.models.signoffs import FoundingGrant

LANE, COURT = "millbrook-lane", "sandbar-court"


def site(code: str = LANE) -> Site:
    return Site.objects.get(code=code)


def write(row: Any, **columns: Any) -> None:
    type(row)._base_manager.filter(pk=row.pk).update(**columns)


def remove(row: Any) -> None:
    type(row)._base_manager.filter(pk=row.pk)._raw_delete("default")


def last(kind: type[Any], code: str = LANE) -> Any:
    """The newest fact of that kind at the site."""
    return kind.objects.filter(site=site(code)).order_by("recorded_at").last()


def seal_of(fact: Fact) -> Seal:
    return Seal.objects.get(fact=fact.pk)


def middle() -> Seal:
    return list(Seal.objects.of_site(site()))[5]


def seal_anew(where: Site) -> None:
    """Every fact of the site sealed once more, from the first to the last: whole in itself, down to head and tree."""
    rows = list(Seal.objects.of_site(where))
    facts = facts_of(rows)
    Seal.objects.filter(site=where)._raw_delete("default")
    where = Site.objects.get(pk=where.pk)
    where.last_position, where.last_digest, where.last_recorded_at, where.peaks = 0, "", None, ""
    where.save()
    for row in rows:
        if row.fact in facts:
            seal(facts[row.fact], where)
    people = Person.objects.select_related("organisation")
    spans.rebuild(list(people))


def wipe(where: Site) -> None:
    for kind in fact_models().values():
        for name in kind.sealed_children:
            related = kind._meta.get_field(name)
            related.related_model._base_manager.filter(**{f"{related.field.name}__site": where})._raw_delete("default")  # type: ignore[union-attr]
        kind._base_manager.filter(site=where)._raw_delete("default")
    Seal.objects.filter(site=where)._raw_delete("default")
    remove(where)


def wipe_everything() -> None:
    for each in Site.objects.all():
        wipe(each)
    for stored in (StandingSpan, EvidenceSpan, *REFERENCE):
        stored.objects.all()._raw_delete("default")


def relinked(row: Seal, **columns: Any) -> None:
    """A seal changed, with its link made to fit."""
    for name, value in columns.items():
        setattr(row, name, value)
    write(row, **columns, digest=link(row.sealed, row.form))


def exchanged(one: Any, other: Any, column: str) -> None:
    """Two rows exchange what a column says, by way of a third value where it has to be unique."""
    first, second = getattr(one, column), getattr(other, column)
    spare = 10**9 if isinstance(first, int) else uuid4() if column == "fact" else "spare"
    write(one, **{column: spare})
    write(other, **{column: first})
    write(one, **{column: second})


def copied(row: Any, **columns: Any) -> Any:
    twin = type(row)._base_manager.get(pk=row.pk)
    twin.pk = uuid4()
    for name, value in columns.items():
        setattr(twin, name, value)
    type(row)._base_manager.bulk_create([twin])
    return twin


def strange_site() -> Site:
    there = site()
    return Site.objects.create(
        organisation=there.organisation, name="Strange", code="strange", register_start=there.register_start
    )


def narrower(kind: type[Fact], without: str) -> dict[str, Any]:
    covers = kind.seal_covers()
    return covers | {"fields": [name for name in covers["fields"] if name != without]}


def cut(*, head: bool, peaks: bool) -> None:
    """The newest fact and its seal go, with as much of the head as is named."""
    here = site()
    gone = Seal.objects.of_site(here).last()
    fact = facts_of([gone])[gone.fact]
    remove(fact)
    remove(gone)
    if head:
        before = Seal.objects.of_site(here).last()
        write(here, last_position=before.position, last_digest=before.digest, last_recorded_at=before.recorded_at)
    if peaks:
        seal_anew(here)


def renumber(after: int) -> None:
    for row in Seal.objects.of_site(site()).filter(position__gt=after):
        write(row, position=row.position - 1)


def drop_middle_and_renumber() -> None:
    gone = middle()
    remove(gone)
    renumber(gone.position)


def wholly(fact: Any, **columns: Any) -> None:
    write(fact, **columns)
    seal_anew(site())


def kept_paper(issue: Issue, pdf: bytes) -> None:
    settings.DOCUMENTS_DIR.mkdir(parents=True, exist_ok=True)
    (settings.DOCUMENTS_DIR / f"{issue.pk}.pdf").write_bytes(pdf)


def forged(**columns: Any) -> None:
    kept_paper(last(Issue), b"%PDF-1.4 forged")
    if columns:
        write(last(Issue), **columns)


def reseal_content(fact: Any, *, and_link: bool, **columns: Any) -> None:
    write(fact, **columns)
    row, content = seal_of(fact), digest(type(fact).objects.get(pk=fact.pk).sealed_content())
    (relinked if and_link else write)(row, content_digest=content)


def hide_a_column() -> None:
    """The shape is rewritten to leave a column out, the fact changed in that column, and everything sealed anew."""
    covers = narrower(KeptElsewhere, "place")
    write(last(KeptElsewhere), place="elsewhere")
    SealShape.objects.create(digest=digest(covers), covers=covers)
    seal_anew(site())


def both_moved() -> None:
    fact = last(KeptElsewhere)
    write(seal_of(fact), site=site(COURT), position=9_999)
    write(fact, site=site(COURT))


def alone() -> Iterator[tuple[str, Callable[[], Any]]]:
    """Attacks that the database itself shows."""
    day, year = timedelta(days=1), timedelta(days=365)
    yield "a word of a fact rewritten", lambda: write(last(KeptElsewhere), place="elsewhere")
    yield "a fact deleted", lambda: remove(last(KeptElsewhere))
    yield "a fact slipped in without a seal", lambda: copied(last(KeptElsewhere))
    yield (
        "a sign-off given to another person",
        lambda: write(
            last(SignOff),
            person=Person.objects.exclude(pk__in=[last(SignOff).signer_id, last(SignOff).person_id]).first(),
        ),
    )
    yield "signer and signed exchanged", lambda: write(last(SignOff), person=F("signer"), signer=F("person"))
    yield "the name printed for the signer rewritten", lambda: write(last(SignOff), signer_name="Somebody Else")
    yield (
        "a sign-off made to last a year longer",
        lambda: write(last(SignOff), valid_until=last(SignOff).happened_on + 2 * year),
    )
    yield (
        "a sign-off moved to an earlier day",
        lambda: write(last(SignOff), happened_on=last(SignOff).happened_on - day),
    )
    yield "the evidence of a sign-off emptied", lambda: write(last(SignOff), evidence=[])
    yield "marks made better", lambda: write(last(Observation), marks=[])
    yield (
        "an observation moved to another day",
        lambda: write(last(Observation), happened_on=last(Observation).happened_on - day),
    )
    yield "practice made an assessment, or the other way", lambda: write(last(Observation), purpose="practice")
    yield "a founding grant made longer", lambda: write(last(FoundingGrant), to_day=last(FoundingGrant).to_day + year)
    yield (
        "a founding grant made to begin earlier",
        lambda: write(last(FoundingGrant), happened_on=last(FoundingGrant).happened_on - day),
    )
    yield "a voiding deleted", lambda: remove(last(Voiding))
    yield "a voiding deleted with its seal", lambda: [remove(seal_of(last(Voiding))), remove(last(Voiding))]
    yield "a voiding pointed at another fact", lambda: write(last(Voiding), corrects=last(SignOff).pk)
    yield "the reason of a correction rewritten", lambda: write(last(Voiding), reason="Other.")
    yield "what a seal corrects emptied", lambda: write(seal_of(last(Voiding)), corrects=None)
    yield "when a seal was made moved", lambda: write(middle(), recorded_at=middle().recorded_at - year)
    yield (
        "fact and seal made to be recorded earlier",
        lambda: [
            write(seal_of(last(KeptElsewhere)), recorded_at=last(KeptElsewhere).recorded_at - day),
            write(last(KeptElsewhere), recorded_at=last(KeptElsewhere).recorded_at - day),
        ],
    )
    yield "a seal cut out of the middle", lambda: remove(middle())
    yield "a seal cut out and the rest numbered anew", drop_middle_and_renumber
    yield "the last seal cut off", lambda: remove(Seal.objects.of_site(site()).last())
    yield "the last fact and seal cut off", lambda: cut(head=False, peaks=False)
    yield "the last fact and seal cut off and the head moved back", lambda: cut(head=True, peaks=False)
    yield "two seals exchange their facts", lambda: exchanged(middle(), seal_of(last(KeptElsewhere)), "fact")
    yield "two seals exchange their places", lambda: exchanged(middle(), seal_of(last(KeptElsewhere)), "position")
    yield "two seals exchange their links", lambda: exchanged(middle(), seal_of(last(KeptElsewhere)), "digest")
    yield "the chain loosened at a seal", lambda: relinked(middle(), previous="0" * 64)
    yield "a seal said to be of another form", lambda: write(middle(), form=2)
    yield "a seal said to be of another kind", lambda: write(middle(), kind="clinic.use")
    yield (
        "a seal said to cover another kind of fact",
        lambda: write(seal_of(last(KeptElsewhere)), shape=seal_of(last(SignOff)).shape_id),
    )
    yield (
        "what seals cover rewritten",
        lambda: write(seal_of(last(KeptElsewhere)).shape, covers=narrower(KeptElsewhere, "place")),
    )
    yield "a fact rewritten with its digest", lambda: reseal_content(last(KeptElsewhere), and_link=False, place="x")
    yield (
        "a fact rewritten with its digest and its link",
        lambda: reseal_content(last(KeptElsewhere), and_link=True, place="x"),
    )
    yield "the head of a site moved back", lambda: write(site(), last_position=F("last_position") - 1)
    yield "the last link of a site rewritten", lambda: write(site(), last_digest="0" * 64)
    yield "the last instant of a site moved", lambda: write(site(), last_recorded_at=site().last_recorded_at + day)
    yield "the tree of a site emptied", lambda: write(site(), peaks="")
    yield "a fact moved to another site", lambda: write(last(KeptElsewhere), site=site(COURT))
    yield "a fact moved to another site with its seal", both_moved
    yield "a fact moved to no site", lambda: write(last(KeptElsewhere), site_id=4711)
    yield "a site deleted with all that was there", lambda: wipe(site(COURT))
    yield "the oldest site deleted with all that was there", lambda: wipe(site())
    yield "a site deleted and its facts left", lambda: remove(site(COURT))
    yield "a site slipped in", strange_site
    yield (
        "a site slipped in with facts of its own, sealed",
        lambda: seal(copied(last(KeptElsewhere), site=strange_site()), site("strange")),
    )
    yield (
        "the opening of a site given to another",
        lambda: write(Change.objects.filter(about="clinic.site").first(), about_id="4711"),
    )
    yield "a kept paper forged", forged
    yield "a kept paper forged with its digest", lambda: forged(file_digest="0" * 64)
    yield (
        "the content of an issue rewritten",
        lambda: write(last(Issue), frozen=last(Issue).frozen | {"number": "other"}),
    )
    yield "the number of an issue rewritten", lambda: write(last(Issue), number="other")
    yield from on_reference_data(day)
    yield "a stored standing made better", lambda: write(StandingSpan.objects.first(), state="lapsed", usable=False)
    yield "a stored standing deleted", lambda: remove(StandingSpan.objects.first())
    yield (
        "a stored stretch of evidence moved",
        lambda: write(EvidenceSpan.objects.first(), first=EvidenceSpan.objects.first().first - day),
    )


def on_reference_data(day: timedelta) -> Iterator[tuple[str, Callable[[], Any]]]:
    """Attacks on what may change, and only by a change that says so."""
    wren, ines = (lambda: Person.objects.get(given_name="Wren")), (lambda: Person.objects.get(given_name="Ines"))
    yield "a person given another name", lambda: write(wren(), family_name="Forged")
    yield "two people exchange their first names", lambda: exchanged(wren(), ines(), "given_name")
    yield "a job role made to begin earlier", lambda: write(wren().roles_held.get(), from_day=REGISTER_START - day)
    yield "a post made to reach every site", lambda: write(Appointment.objects.last(), site=None)
    yield (
        "a post slipped in",
        lambda: Appointment.objects.create(person=wren(), post="owner", from_day=REGISTER_START),
    )
    yield (
        "a post slipped in with a change that nobody sealed",
        lambda: copied(
            Change.objects.filter(about="clinic.appointment").last(),
            about_id=str(Appointment.objects.create(person=wren(), post="owner", from_day=REGISTER_START).pk),
        ),
    )
    yield "an account shut", lambda: write(wren().account, is_active=False)
    yield "a requirement deleted", lambda: remove(Requirement.objects.last())
    yield "a requirement ended", lambda: write(Requirement.objects.last(), to_day=Requirement.objects.last().from_day)
    yield "a task made to be due more rarely", lambda: write(UpkeepTask.objects.get(code="U91"), every_days=700)
    yield "the readings of a task emptied", lambda: write(UpkeepTask.objects.get(code="U91"), readings=[])
    yield "a unit moved to another site", lambda: write(Equipment.objects.get(label="unit 1"), site=site(COURT))
    yield "the register made to start later", lambda: write(site(), register_start=REGISTER_START + day)
    yield "a pass made to be good for longer", lambda: write(InspectorPass.objects.get(), until=F("until") + day)


def with_everything_sealed_anew() -> Iterator[tuple[str, Callable[[], Any]]]:
    """Attacks after which everything in the database fits. Only a head that lies elsewhere shows them."""
    day, year = timedelta(days=1), timedelta(days=365)
    yield "a fact rewritten and the chain sealed anew", lambda: wholly(last(KeptElsewhere), place="elsewhere")
    yield "names exchanged and the chain sealed anew", lambda: wholly(last(SignOff), signer_name="Somebody Else")
    yield (
        "a sign-off made longer and the chain sealed anew",
        lambda: wholly(last(SignOff), valid_until=last(SignOff).happened_on + 2 * year),
    )
    yield (
        "an observation moved and the chain sealed anew",
        lambda: wholly(last(Observation), happened_on=last(Observation).happened_on - day),
    )
    yield "the chain cut and its head made to fit", lambda: cut(head=True, peaks=True)
    yield "a fact removed and the chain sealed anew", lambda: [remove(last(KeptElsewhere)), seal_anew(site())]
    yield "a voiding removed and the chain sealed anew", lambda: [remove(last(Voiding)), seal_anew(site())]
    yield "a column left out of what seals cover and the chain sealed anew", hide_a_column
    yield "every site deleted with all that was there", wipe_everything


def planned() -> Iterator[tuple[str, Callable[[], bool], bool]]:
    """Every attack: its name, the deed (which always changes something), and whether only a held head shows it."""
    for held, attacks in ((False, alone()), (True, with_everything_sealed_anew())):
        for name, deed in attacks:
            yield name, doing(deed), held


def doing(deed: Callable[[], Any]) -> Callable[[], bool]:
    def done() -> bool:
        deed()
        return True

    return done
