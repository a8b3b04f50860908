"""The texts that are in force, what was done about findings, and the papers that went out, in words."""

from clinic.rules.site_text import by_name
from clinic.rules.words import day_words
from training.models import CorrectiveAction, InstructionsCheck, Issue, PassUsed, Procedure, Retirement, Version
from training.reads.fact_words.parts import (
    FactWords,
    PageLink,
    fact_link,
    from_day,
    labelled,
    on_day,
    procedure,
    say,
    section,
    sentences,
    to_fact,
    who,
    writes,
)
from training.rules.policy_wording import policy_rows


@writes(Version, "approval of a version")
def version(fact: Version) -> FactWords:
    text, topic = fact.text, fact.procedure.is_topic
    names = Procedure.objects.titles(fact.procedure.organisation)
    steps = [f"{step_words(step)}{' (critical)' if step.critical else ''}" for step in text.steps]
    return FactWords(
        say(f"Version {fact.number} of {fact.procedure} was approved ", on_day(fact)),
        sentences(
            say("It is in force from ", day_words(fact.in_force_from), " until the next one is. It never changes."),
            say("Approved by ", who(fact.recorded_by), "; written by ", who(fact.authored_by, "the procedure library"), "."),
            labelled("What changed", fact.change_note),
            labelled("Purpose", by_name(text.purpose)),
        ),
        section("Steps", [*steps, *(by_name(words) for words in text.contents)])
        + section("Hazards", [by_name(words) for words in text.hazards])
        + section("Protective equipment", [by_name(words) for words in text.protective_equipment])
        + section("What it asks", [f"{name}: {value}" for name, value in policy_rows(fact.asks, is_topic=topic, names=names)])
        + section("Sources", [f"{row.row} ({row.mark}) {row.says}".strip() for row in text.sources]),
    )  # fmt: skip


def step_words(step: object) -> str:
    when = by_name(getattr(step, "when", ""))
    return f"When {when}: {by_name(step.do)}" if when else by_name(step.do)  # type: ignore[attr-defined]


@writes(InstructionsCheck, "check against the maker’s instructions")
def instructions_check(fact: InstructionsCheck) -> FactWords:
    return FactWords(
        say(f"{fact.version} was held against the maker’s instructions ", on_day(fact)),
        sentences(
            say(who(fact.checked_by), f" held it against “{fact.title}”, edition {fact.edition}."),
            say("From then on ", fact_link(fact.version, str(fact.version)), " may be signed."),
        ),
    )


@writes(Retirement, "retirement of a procedure")
def retirement(fact: Retirement) -> FactWords:
    return FactWords(
        say(f"{fact.procedure} is retired {from_day(fact)}"),
        sentences(
            say(procedure(fact.procedure), " is no longer taught, and no longer asked where something rests on it."),
            "What was signed lives on to its last day.",
            labelled("Why", fact.reason),
        ),
    )


@writes(CorrectiveAction, "corrective action")
def corrective_action(fact: CorrectiveAction) -> FactWords:
    return FactWords(
        say("Something was done about a finding ", on_day(fact)),
        sentences(
            labelled("The finding, as it was", fact.said),
            say("It had stood since ", day_words(fact.since), "."),
            labelled("What was done", fact.done),
            say("Done by ", who(fact.done_by), "."),
        ),
    )


@writes(Issue, "issue of a paper")
def issue(fact: Issue) -> FactWords:
    certificate = fact.document == Issue.Kind.CERTIFICATE
    after = Issue.objects.filter(replaces=fact).first()
    about = f", for {fact.person} in {fact.procedure}," if certificate and fact.person and fact.procedure else ""
    page = PageLink("its page", "training:certificate" if certificate else "training:binder", fact.pk)
    return FactWords(
        say(f"{fact.get_document_display()} {fact.number}{about} was issued ", on_day(fact)),
        sentences(
            say("It stays as it was issued, to be read or printed again on ", page, "."),
            say("It rests on ", fact_link(fact.sign_off), ".") if fact.sign_off else None,
            say("It replaces ", paper(fact.replaces), ".") if fact.replaces else None,
            say("It was replaced by ", paper(after), ".") if after else None,
            labelled("Code printed on it", fact.code),
            labelled("SHA-256 of the file", fact.file_digest),
        ),
    )


def paper(fact: Issue) -> PageLink:
    return fact_link(fact, f"{fact.get_document_display().lower()} {fact.number}")


@writes(PassUsed, "use of a pass")
def pass_used(fact: PassUsed) -> FactWords:
    given = fact.inspector_pass
    opened = {
        PassUsed.What.BINDER: "the binder",
        PassUsed.What.PAPER: "the binder on paper",
        PassUsed.What.FACT: "a fact that it rests on",
    }[PassUsed.What(fact.what)]
    return FactWords(
        say(f"{given.person} opened {opened} by a pass ", on_day(fact)),
        sentences(
            say("What was opened is ", to_fact(fact.opened), "."),
            say(f"The pass is to binder {given.issue.number}, through {day_words(given.until)}, given by ", who(given.given_by), "."),
        ),
    )  # fmt: skip
