"""Taught sessions, and the texts in force, for a binder."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Any

from clinic.rules.words import listed, short_day
from training.documents.binder import content as b
from training.models import InstructionsCheck, Retirement, TaughtSession, Version
from training.reads.binder.asked import BinderAsked
from training.reads.findings.records import missing_of
from training.reads.procedures import source_shown
from training.rules.place import Answers, said, steps_here
from training.rules.policy_wording import policy_rows
from training.rules.texts import Step


def sessions(asked: BinderAsked) -> list[b.Session]:
    rows = TaughtSession.objects.live().filter(site=asked.site, happened_on__range=(asked.first, asked.last)).in_order()
    found = list(rows.prefetch_related("topics__version__procedure", "attendances__person"))
    asked.facts |= {str(row.pk) for row in found}
    return [session(row) for row in found]


def session(row: TaughtSession) -> b.Session:
    topics = sorted(f"{each.version.procedure.code} {each.version.procedure.title}" for each in row.topics.all())
    people = sorted(row.attendances.all(), key=lambda each: (each.person.family_name, each.person.given_name))
    return b.Session(
        day=row.happened_on.isoformat(),
        topics=", ".join(topics),
        summary=row.summary or "No summary is recorded.",
        trainer=row.trainer_name or "no trainer named",
        qualification=row.trainer_qualification or "no qualification recorded",
        live_questions=bool(row.live_questions),
        language=row.language or "a language that is not recorded",
        attendees=[b.Attendee(each.person.printed_name, each.job_title) for each in people],
        countable=f"Does not count: the record lacks {listed(missing_of(row))}." if missing_of(row) else "",
        fact=str(row.pk),
        handed_out=in_words("Handed out", row.handed_out),
        demonstrated=in_words("Demonstrated", row.demonstration),
    )


def in_words(what: str, said: str) -> str:
    """Handed out: nothing. What was left empty is said to be."""
    return f"{what}: {said.strip().rstrip('.') or 'not said'}."


def in_force(asked: BinderAsked) -> list[Version]:
    """The versions in force on the day."""
    day, site = asked.as_of, asked.site
    retired = Retirement.objects.live().filter(happened_on__lte=day).values("procedure")
    rows = Version.objects.live().in_force(day).filter(procedure__organisation=site.organisation)
    rows = rows.exclude(procedure__in=retired).select_related("procedure", "recorded_by").order_by("procedure__code")
    return list(rows)


def sources(found: Iterable[Version]) -> list[b.SourceRow]:
    """Everything that these texts rest on, each once."""
    named = {source.row: source_shown(source) for row in found for source in row.text.sources}
    return [b.SourceRow(one.row, one.says, one.means) for _, one in sorted(named.items())]


def texts(asked: BinderAsked, found: Sequence[Version]) -> list[b.ProcedureText]:
    """These versions, with the site's own facts in their steps. A fixed number of queries."""
    checks = {row.version_id: row for row in InstructionsCheck.objects.live().select_related("checked_by").in_order()}
    asked.facts |= {str(row.pk) for row in found} | {str(checks[row.pk].pk) for row in found if row.pk in checks}
    lines = [line_of(row, checks.get(row.pk)) for row in found]
    if not asked.in_full:
        return lines
    answers = asked.answers
    return [in_full(line, row, answers[row.procedure.equipment_kind]) for line, row in zip(lines, found, strict=True)]


def line_of(row: Version, check: Any) -> b.ProcedureText:
    """Which text it is, and who stands for it: all that the short form prints of it."""
    maker = f"{check.title}, {check.edition}, by {check.checked_by} on {short_day(check.happened_on)}" if check else ""
    return b.ProcedureText(
        code=row.procedure.code,
        title=row.procedure.title,
        version=row.number,
        in_force_from=row.in_force_from.isoformat(),
        approved_by=str(row.recorded_by or "the register"),
        maker=maker,
        purpose="",
        hazards=[],
        protection=[],
        steps=[],
        sources=[],
    )


def in_full(line: b.ProcedureText, row: Version, answers: Answers) -> b.ProcedureText:
    content = row.text
    return replace(
        line,
        purpose=said(content.purpose, answers),
        hazards=[said(each, answers) for each in content.hazards],
        protection=[said(each, answers) for each in content.protective_equipment],
        steps=[step(each, answers) for each in steps_here(content.steps, answers)]
        or [b.Step(said(words, answers), False, "", "") for words in content.contents],
        sources=[each.row for each in content.sources],
        policy=[f"{said_first}: {rest}" for said_first, rest in policy_lines(row)],
        change=row.change_note,
    )


def policy_lines(row: Version) -> list[tuple[str, str]]:
    return [(str(name), str(value)) for name, value in policy_rows(row.asks, is_topic=row.procedure.is_topic)]


def step(each: Step, answers: Answers) -> b.Step:
    return b.Step(
        said(each.do, answers), each.critical, said(each.caution, answers), said(each.when, answers, begins=False)
    )
