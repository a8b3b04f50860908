"""The roster of a binder, and everybody's record: standing, what was watched, what was signed, what was asked."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from clinic.models import Person, RoleHeld
from clinic.rules.ids import is_id
from clinic.rules.words import begun, day_words, short_day
from training.documents.binder import content as b
from training.models import CriticalMissAnswer, KnowledgeResult, Observation, StandingSpan
from training.reads.binder.asked import BinderAsked, By, in_period, iso
from training.reads.binder.evidence import corrections_of, evidence_of, taught_to
from training.reads.binder.signed import signed_of
from training.reads.matrix import Squares
from training.reads.sheets import OF_PAPER, paper_words
from training.reads.standing import OF_SPAN, plain_span
from training.reads.watched import set_aside_of
from training.rules import standing as rules
from training.rules.facts import Basis, FromPaper, Method, State
from training.rules.sentence import ending_here
from training.rules.wording import METHODS, NO_NAMES, cause_sentence, outcome_words
from training.waiting import PreparedSpans

UNSHOWN = ("marks", "pauses")  # of an observation: the binder says how it came out
RESTS = {
    Basis.TAUGHT: "Taught",
    Basis.FOUNDING: "A founding grant",
    Basis.CARRIED_OVER: "Carried over from paper",
}


def roles_of(asked: BinderAsked, people: Sequence[Person]) -> By:
    found: By = defaultdict(list)
    held = RoleHeld.objects.held_in(asked.first, max(asked.last, asked.as_of)).filter(
        person__in=people, site=asked.site
    )
    for row in held.select_related("job_role"):
        found[row.person_id].append(row)
    return found


def roster(asked: BinderAsked, people: Sequence[Person]) -> list[b.Member]:
    roles = roles_of(asked, people)
    return [member(person, roles[person.pk]) for person in people]


def member(person: Person, held: Sequence[RoleHeld]) -> b.Member:
    ends = [row.to_day for row in held if row.to_day]
    last = person.last_day or (max(ends) if ends and len(ends) == len(held) else None)
    since = min((row.from_day for row in held), default=None)
    return b.Member(person.printed_name, titles(held), iso(since) or iso(person.home_site.register_start), iso(last))


def titles(held: Sequence[RoleHeld]) -> str:
    return ", ".join(dict.fromkeys(row.job_role.title for row in held)) or "signs here; holds no job role at this site"


def records(asked: BinderAsked, people: Sequence[Person], matrix: Squares) -> list[b.PersonRecord]:
    """One for everybody on the roster, in its order; a fixed number of queries for any number of people."""
    if not asked.in_full:
        return brief_records(asked, people, matrix)
    aside = set_aside_of(asked.site.organisation, people)
    roles, spans, seen = roles_of(asked, people), spans_of(asked, people), seen_of(asked, people, aside)
    signed, checks, evidence = signed_of(asked, people), checks_of(asked, people), evidence_of(asked, people, aside)
    sessions, corrections = taught_to(asked, people), corrections_of(asked, people)
    alone = {p.pk: alone_rows(matrix, p) for p in people}
    return [
        b.PersonRecord(
            name=p.printed_name,
            job_roles=titles(roles[p.pk]),
            spans=spans[p.pk],
            observations=seen[p.pk],
            sign_offs=signed[p.pk],
            checks=checks[p.pk],
            says=alone_sentence(asked, p, alone[p.pk]),
            alone=alone[p.pk],
            evidence=evidence[p.pk],
            taught=sessions[p.pk],
            corrections=corrections[p.pk],
        )
        for p in people
    ]


def alone_rows(matrix: Squares, person: Person) -> list[b.AloneRow]:
    """What the job asks for and what else is known, on the day of the binder; nothing for whoever is not here that day."""
    here = person.pk in {each.pk for each in matrix.people}
    return [
        b.AloneRow(
            f"{p.code} {p.title}", matrix.at(person, p).state.value, matrix.says(person, p), matrix.asks(person, p)
        )
        for p in matrix.procedures
        if here and matrix.is_shown(person, p)
    ]


def alone_sentence(asked: BinderAsked, person: Person, rows: Sequence[b.AloneRow]) -> str:
    """Good in 3 of the 5 that the job asks for, counted in the rows below it."""
    day = f"{day_words(asked.as_of)}"
    if person.last_day and person.last_day < asked.as_of:
        return f"Left on {day_words(person.last_day)}, so nothing is needed on {day}."
    needed, good = [row for row in rows if row.asked], [row for row in rows if State(row.state).is_usable]
    held = sum(row.asked for row in good)
    more = len(good) - held
    if not needed:
        return f"On {day}: good in {more or 'none'}; the job needs none."
    beyond = f", and in {more} more" if more else ""
    return f"On {day}: good in {held or 'none'} of the {len(needed)} that the job needs{beyond}."


SPANS_IN = PreparedSpans(
    lambda people, first, last: (
        StandingSpan.objects.overlapping(first[0], last[0])
        .filter(person__in=people)
        .order_by("procedure__code", "first")
        .values_list("person", "procedure__code", "procedure__title", *OF_SPAN)
    )
)


def spans_of(asked: BinderAsked, people: Sequence[Person]) -> By:
    """Every stretch of the period that began while the person was here."""
    found: By = defaultdict(list)
    left = {person.pk: person.last_day or date.max for person in people}
    for person, code, title, *row in SPANS_IN.rows(people=[*left], first=[asked.first], last=[asked.last]):
        span = plain_span(*row)
        if span.first <= left[person]:
            found[person].append(span_row(f"{code} {title}", span, asked.last))
    return found


def span_row(name: str, span: rules.StandingSpan, last: date) -> b.SpanRow:
    ended = span.after is not None and span.after <= last
    through = iso(span.after - timedelta(days=1)) if span.after and ended else ""
    fact = span.cause if span.cause and is_id(span.cause) else ""
    return b.SpanRow(
        name, span.state.value, iso(span.first), through, span.basis.value if span.basis else "", because(span), fact
    )


def because(span: rules.StandingSpan) -> str:
    """The sentence of the state; a usable one says what it rests on, as not everything was signed, and what ends it."""
    if not span.state.is_usable or span.basis not in RESTS:
        says = cause_sentence(span)
    else:
        says = f"{RESTS[span.basis]}{', and renewal is due' if span.state is State.DUE else ''}."
    return f"{says} {ending_here(span, NO_NAMES)}".strip()


def brief_records(asked: BinderAsked, people: Sequence[Person], matrix: Squares) -> list[b.PersonRecord]:
    """What the short form prints of everybody: what may be done alone, on which days who watched, and what was taught. The
    rest is neither read nor frozen, and the form rests on none of it."""
    seen, sessions = watched_of(asked, people), taught_to(asked, people)
    return [
        b.PersonRecord(
            name=p.printed_name, job_roles="", spans=[], observations=seen[p.pk], sign_offs=[], checks=[],
            alone=alone_rows(matrix, p), taught=sessions[p.pk],
        )
        for p in people
    ]  # fmt: skip


def watched_of(asked: BinderAsked, people: Sequence[Person]) -> By:
    """Days and watchers of what was observed in the period."""
    found: By = defaultdict(list)
    rows = in_period(asked, Observation.objects, people)
    for row in asked.at_hand.rows(rows, "observer", "witness", without=UNSHOWN):
        asked.facts.add(str(row.pk))
        found[row.person_id].append(
            b.ObservationRow(iso(row.happened_on), "", 0, "", "", "", watched_by=watcher(row), notes="")
        )
    return found


def watcher(row: Observation) -> str:
    return str(row.observer) if row.observer else f"{row.witness}, outside witness"


def seen_of(asked: BinderAsked, people: Sequence[Person], aside: Mapping[str, State]) -> By:
    """`aside`: which assessments count as no evidence because of who watched them."""
    found: By = defaultdict(list)
    rows = asked.at_hand.rows(
        in_period(asked, Observation.objects, people), "version__procedure", "observer", "witness", "equipment", "sheet",
        without=UNSHOWN,
    )  # fmt: skip
    asked.at_hand.with_named([row for row in rows if row.sheet], *OF_PAPER)
    for row in rows:
        asked.facts.add(str(row.pk))
        found[row.person_id].append(observation_row(asked, row, aside))
    return found


def observation_row(asked: BinderAsked, row: Observation, aside: Mapping[str, State]) -> b.ObservationRow:
    return b.ObservationRow(
        day=iso(row.happened_on),
        procedure=row.version.procedure.code,
        version=row.version.number,
        purpose=row.get_purpose_display().lower(),
        method=METHODS[Method(row.method)],
        outcome=outcome_words(
            row.outcome,
            practice=row.purpose == Observation.Purpose.PRACTICE,
            stopped=row.stopped,
            critical_miss=row.critical_miss,
        ),
        watched_by=watcher(row),
        notes=" ".join(
            filter(
                None, (paper_note(row), own_word(row), f"Stopped: {row.stop_reason}" if row.stopped else "", row.notes)
            )
        ),
        unit=str(row.equipment or ""),
        counts=counts_words(row, aside.get(str(row.pk))),
        fact=str(row.pk),
        written=asked.written(row),
    )


def counts_words(row: Observation, aside: State | None) -> str:
    """Whether it is evidence by itself; what makes it too old or void is said by the standing."""
    if row.purpose != Observation.Purpose.ASSESSMENT:
        return "no evidence"
    if aside is not None:
        return f"no evidence, as the watcher could not work alone in it then ({aside})"
    if row.sheet_id and row.outcome == "met" and row.version.asks.from_paper is not FromPaper.BOTH:
        never = row.version.asks.from_paper is FromPaper.NEVER
        return "no evidence, as it is from paper" if never else "evidence for a renewal only, as it is from paper"
    return "evidence" if row.outcome == "met" else "no evidence"


def paper_note(row: Observation) -> str:
    """From paper, sheet 0123, entered by … on …"""
    said = paper_words(row)
    return f"{begun(said)}." if said else ""


def own_word(row: Observation) -> str:
    return f"{begun(row.get_own_word_display())}." if row.own_word else ""


def checks_of(asked: BinderAsked, people: Sequence[Person]) -> By:
    """Knowledge checks, and why a critical miss did not end a sign-off, each as a sentence."""
    found: By = defaultdict(list)
    results = in_period(asked, KnowledgeResult.objects, people)
    for row in asked.at_hand.rows(results, "version__procedure", without=("asked", "answers")):
        asked.facts.add(str(row.pk))
        said = "passed" if row.passed else "not passed"
        where = f"{row.version.procedure.code}, version {row.version.number}"
        found[row.person_id].append(f"Knowledge check, {where}, {short_day(row.happened_on)}: {said}.")
    answers = CriticalMissAnswer.objects.live().filter(observation__person__in=people)
    answers = answers.filter(happened_on__range=(asked.first, asked.last)).in_order()
    for answer in asked.at_hand.rows(answers, "observation__version__procedure"):
        asked.facts.add(str(answer.pk))
        seen = answer.observation
        found[seen.person_id].append(
            f"Critical miss, {seen.version.procedure.code}, {short_day(seen.happened_on)}, answered {short_day(answer.happened_on)}: {answer.reason}"
        )
    return found
