"""What was seen, tried, taught and signed, in words."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from clinic.models import Fact
from clinic.rules.site_text import by_name
from clinic.rules.words import begun, clock_words, counted, day_words, ended, listed
from training.models import (
    Authority,
    CarriedOver,
    CriticalMissAnswer,
    FoundingGrant,
    IndependentMarking,
    KnowledgeResult,
    Observation,
    PlacePhoto,
    SheetEntered,
    SheetPhoto,
    SheetsPrinted,
    Signature,
    SignOff,
    TalkedThrough,
    TaughtSession,
    Version,
    Withdrawal,
)
from training.reads.fact_words.parts import (
    FactWords,
    PageLink,
    Sentence,
    at_site,
    fact_link,
    from_day,
    labelled,
    local,
    named_fact,
    on_day,
    plain,
    procedure,
    say,
    section,
    sentences,
    through,
    to_fact,
    unit,
    watcher,
    who,
    words_of,
    writes,
)
from training.reads.languages import language_words
from training.rules.elements import NAMES
from training.rules.facts import Method
from training.rules.wording import METHODS, outcome_words


@writes(Observation, "observation")
def observation(fact: Observation) -> FactWords:
    practice = fact.purpose == Observation.Purpose.PRACTICE
    came_to = outcome_words(fact.outcome, practice=practice, stopped=fact.stopped, critical_miss=fact.critical_miss)
    kind = "practice, which is no evidence" if practice else "an assessment"
    start, end = clock_words(local(fact.started_at, fact)), clock_words(local(fact.finished_at, fact))
    return FactWords(
        say(str(fact.person), " was watched at ", str(fact.version.procedure), " ", on_day(fact), ": ", came_to),
        sentences(
            say(who(fact.person), " did it by ", METHODS[Method(fact.method)], " as ", kind, "."),
            say("Watched by ", watcher(fact.observer, fact.witness), f", from {start} to {end}."),
            say("By ", fact_link(fact.version, str(fact.version)), at_unit(fact), "."),
            say("Entered from ", fact_link(fact.sheet), ".") if fact.sheet else None,
            labelled("Checked who it is", fact.sheet.identity_checked) if fact.sheet else None,
            labelled("Language used", language_words(fact.language)),
            labelled("Stopped as unsafe", fact.stop_reason),
            labelled(f"{fact.person.given_name}’s own word", own_word(fact)),
            labelled("Notes", fact.notes),
            *(
                f"Paused from {row.get('from', '')} to {row.get('to', '')}: {row.get('why', '')}"
                for row in pauses(fact)
            ),
        ),
        section("Every mark, in the order of the steps", marks(fact.version, fact.marks)),
    )


def pauses(fact: Observation) -> Iterable[dict[str, str]]:
    return fact.pauses or ()


def own_word(fact: Any) -> str:
    word = fact.get_own_word_display() if fact.own_word else ""
    return ". ".join(filter(None, (word, fact.own_words)))


def at_unit(fact: Any) -> Sentence:
    return say(", at ", unit(fact.equipment)) if fact.equipment else ()


def marks(version: Version, given: Iterable[dict[str, str]]) -> list[Sentence]:
    """Each mark with the words of its step; a site fact by its name, as what it was that day is not known."""
    steps = {step.key: step for step in version.text.steps}
    found = []
    for row in given:
        step = steps.get(row["step"])
        critical = " (critical)" if step and step.critical else ""
        found.append(say(f"{begun(row['mark'])}: ", by_name(step.do) if step else row["step"], critical))
    return found


@writes(IndependentMarking, "second marking")
def second_marking(fact: IndependentMarking) -> FactWords:
    seen = fact.observation
    return FactWords(
        say(str(fact.marker), " marked what ", str(seen.person), " did a second time, ", on_day(fact)),
        sentences(
            say("The first marks are those of ", fact_link(seen), "."),
            say(who(fact.marker), " did not see them. These marks count for nobody’s standing."),
        ),
        section("Every mark, in the order of the steps", marks(seen.version, fact.marks)),
    )


@writes(CriticalMissAnswer, "answer to a critical miss")
def miss_answer(fact: CriticalMissAnswer) -> FactWords:
    seen = fact.observation
    return FactWords(
        say(
            "The sign-off of ",
            str(seen.person),
            " in ",
            str(seen.version.procedure),
            " was left standing ",
            on_day(fact),
        ),
        sentences(
            say("It answers the critical miss of ", fact_link(seen), "."),
            labelled("Why it was not withdrawn", fact.reason),
        ),
    )


@writes(KnowledgeResult, "knowledge check")
def result(fact: KnowledgeResult) -> FactWords:
    done = "passed" if fact.passed else "did not pass"
    asked = {question.key: question.ask for question in fact.version.text.questions}
    lines: list[Sentence | str] = [
        f"{by_name(asked.get(row['key'], row['key']))} {fact.answers.get(row['key']) or 'No answer.'}"
        for row in fact.asked
    ]
    return FactWords(
        say(str(fact.person), f" {done} the knowledge check of ", str(fact.version.procedure), " ", on_day(fact)),
        sentences(
            say(who(fact.person), " answered the questions of ", fact_link(fact.version, str(fact.version)), "."),
            labelled("Language", fact.language),
        ),
        section("What was asked, and what was answered", lines),
    )


@writes(TalkedThrough, "talk about a check")
def talked(fact: TalkedThrough) -> FactWords:
    return FactWords(
        say(str(fact.by), " talked the knowledge check of ", str(fact.version.procedure), " through with ", str(fact.person), " ", on_day(fact)),
        sentences(
            say("After two failed tries on one day, ", who(fact.by), " did so before ", who(fact.person), " tried again."),
            say("The check is that of ", fact_link(fact.version, str(fact.version)), "."),
        ),
    )  # fmt: skip


@writes(TaughtSession, "taught session")
def session(fact: TaughtSession) -> FactWords:
    topics = [
        row.version for row in fact.topics.select_related("version__procedure").order_by("version__procedure__code")
    ]
    people = list(fact.attendances.select_related("person").order_by("person__family_name", "person__given_name"))
    lacks = fact.missing_fields
    yes = {True: "yes", False: "no", None: "not recorded"}
    trainer = who(fact.trainer) if fact.trainer else fact.trainer_name or "somebody not named"
    return FactWords(
        say(f"{listed([row.procedure.title for row in topics]) or 'Nothing named'} {'were' if len(topics) > 1 else 'was'} taught to ", counted(len(people), "person", "people"), " ", on_day(fact)),
        sentences(
            say("It does not count yet: its record lacks ", listed(lacks), ".") if lacks else "Its record has every part that it needs.",
            say("Taught by ", trainer, f", {fact.trainer_qualification or 'with no qualification recorded'}."),
            labelled("Days", listed([day_words(date.fromisoformat(day)) for day in fact.days]) if len(fact.days) > 1 else ""),
            labelled("What was taught", fact.summary),
            labelled("Live questions with the trainer", yes[fact.live_questions]),
            labelled("Use of protective equipment was shown", yes[fact.demonstrated] if fact.demonstrated is not None else ""),
            labelled("Language", fact.language),
            labelled("Handed out", fact.handed_out),
            labelled("Demonstrated", fact.demonstration),
            "Only what is new was taught: the yearly day does not move." if fact.extra else None,
        ),
        section("Topics", [say(fact_link(row, str(row))) for row in topics])
        + section("Who attended", [say(who(row.person), f", {row.job_title or 'no job title recorded'}") for row in people]),
    )  # fmt: skip


@writes(SignOff, "sign-off")
def sign_off(fact: SignOff) -> FactWords:
    covered = [f"{name}: {fact.elements.get(str(n)) or 'not covered'}" for n, name in enumerate(NAMES, start=1)]
    return FactWords(
        say(str(fact.person), " was signed off in ", str(fact.version.procedure), " ", on_day(fact)),
        sentences(
            say(who(fact.person), " may work alone in it ", through(fact.valid_until, "with no end by the calendar"), ", unless something ends it before."),
            say("Signed by ", who(fact.signer), f" (printed name: {fact.signer_name})."),
            labelled("Meaning of the signature", fact.meaning),
            labelled("In the signer’s words", fact.statement),
            say(f"The signer was proved {at_site(fact.reidentified_at, fact)}: ", ended(fact.reidentified)),
            say("By ", fact_link(fact.version, str(fact.version)), at_unit(fact), "."),
            *(labelled("Less was needed than the policy says", lower) for lower in fact.lowered),
        ),
        [
            *section("What it rests on", rests_on(fact, fact.evidence)),
            *section("The six elements of competence, a borrowed pattern", list(covered) if fact.elements else []),
        ],
    )  # fmt: skip


def rests_on(fact: Fact, keys: Iterable[Any]) -> list[Sentence]:
    """Each piece of evidence by its own first sentence, leading to its page; one of another site says where it is."""
    return [evidence(fact, named_fact(key)) for key in keys]


def evidence(fact: Fact, row: Fact | None) -> Sentence:
    if row is None:
        return ("A fact that is not in this register any more.",)
    words = plain(words_of(row).head)
    return (
        say(PageLink(words, "training:fact", row.pk)) if row.site_id == fact.site_id else say(f"{words}, at {row.site}")
    )


def signer(fact: Withdrawal | Signature) -> str:
    return fact.recorded_by.named_then(fact.signer_name) if fact.recorded_by else fact.signer_name


@writes(Withdrawal, "withdrawal")
def withdrawal(fact: Withdrawal) -> FactWords:
    return FactWords(
        say(
            "The leave of ",
            str(fact.person),
            " to work alone in ",
            str(fact.procedure),
            " was withdrawn ",
            on_day(fact),
        ),
        sentences(
            say("From then on ", who(fact.person), " may not work alone in ", procedure(fact.procedure), "."),
            labelled("Why", fact.reason),
            say(f"Withdrawn by {signer(fact)}."),
        ),
    )


@writes(Signature, "signature")
def signature(fact: Signature) -> FactWords:
    return FactWords(
        say(f"{signer(fact)} signed ", on_day(fact)),
        sentences(
            say("What is signed is ", to_fact(fact.signs), "."),
            labelled("Meaning of the signature", fact.meaning),
            say(f"The signer was proved {at_site(fact.reidentified_at, fact)}: ", ended(fact.reidentified)),
        ),
    )


def covers(fact: Authority | FoundingGrant) -> str:
    areas = [f"everything in {area}" for area in fact.areas]
    return listed([*areas, *([fact.codes] if fact.procedures else [])]) or "nothing"


@writes(Authority, "authority")
def authority(fact: Authority) -> FactWords:
    return FactWords(
        say(str(fact.person), f" may observe and sign {from_day(fact)}"),
        sentences(
            say(who(fact.person), f" may observe and sign for {covers(fact)} at {fact.site}, {through(fact.to_day, 'until it is ended')}, never for themselves."),
            labelled("What they watch counts as evidence, although they may not work alone in it", fact.counts_because),
        ),
    )  # fmt: skip


@writes(FoundingGrant, "founding grant")
def founding(fact: FoundingGrant) -> FactWords:
    return FactWords(
        say(str(fact.person), f" may work alone and sign by a founding grant {from_day(fact)}"),
        sentences(
            say(who(fact.person), f" may work alone, observe and sign for {covers(fact)} at {fact.site}, {through(fact.to_day, '')}."),
            say("It is how the chain of signing starts here: nobody could watch and sign before."),
            labelled("It rests on", f"{fact.get_rests_on_display()}. {fact.detail}"),
        ),
    )  # fmt: skip


@writes(CarriedOver, "carried-over record")
def carried_over(fact: CarriedOver) -> FactWords:
    return FactWords(
        say("From paper: ", str(fact.person), f" mastered {fact.procedure} before this register, on {day_words(fact.original_day)}"),
        sentences(
            say(who(fact.person), " may work alone in ", procedure(fact.procedure), f" {through(fact.valid_until, '')}, unless something ends it before."),
            labelled("The paper names", fact.by_whom),
            labelled("The paper is kept at", fact.paper_place),
            say("Nobody signed here: it was entered ", on_day(fact), " by ", who(fact.recorded_by), "."),
        ),
    )  # fmt: skip


@writes(SheetsPrinted, "printing of sheets")
def sheets_printed(fact: SheetsPrinted) -> FactWords:
    return FactWords(
        say(counted(fact.count, "blank sheet was", "blank sheets were"), f" printed for {fact.version.procedure} ", on_day(fact)),
        sentences(
            say(f"They are {fact}: each has a number of its own."),
            say("By ", fact_link(fact.version, str(fact.version)), at_unit(fact), "."),
        ),
    )  # fmt: skip


COUNTS_ONCE = {
    True: "it counts only once they confirm it.",
    False: "it counts only once somebody with authority has compared it with the photo, and confirms it.",
}


@writes(SheetEntered, "sheet from paper")
def sheet_entered(fact: SheetEntered) -> FactWords:
    practice = fact.purpose == Observation.Purpose.PRACTICE
    start, end = clock_words(local(fact.started_at, fact)), clock_words(local(fact.finished_at, fact))
    return FactWords(
        say(f"{begun(str(fact))} says that ", str(fact.person), f" did {fact.version.procedure} ", on_day(fact)),
        sentences(
            say(who(fact.person), " did it by ", METHODS[Method(fact.method)], f" as {'practice' if practice else 'an assessment'}, from {start} to {end}."),
            say("The sheet says that ", watcher(fact.observer, fact.witness), " watched; ", COUNTS_ONCE[fact.witness is None]),
            say("The sheet was printed with ", fact_link(fact.printed), "."),
            labelled("Checked who it is", fact.identity_checked),
            labelled("Language used", language_words(fact.language)),
            labelled("Stopped as unsafe", fact.stop_reason),
            labelled(f"{fact.person.given_name}’s own word", own_word(fact)),
            labelled("Notes", fact.notes),
        ),
        section("Every mark, as on the sheet", marks(fact.version, fact.marks))
        + section("Confirmed", [say(fact_link(row)) for row in fact.confirmed_as.all()]),
    )  # fmt: skip


@writes(SheetPhoto, "photo of a sheet")
def sheet_photo(fact: SheetPhoto) -> FactWords:
    return FactWords(
        say("A photo of a sheet was attached ", on_day(fact)), sentences(say("It shows ", fact_link(fact.sheet), "."))
    )


@writes(PlacePhoto, "photo of this place")
def place_photo(fact: PlacePhoto) -> FactWords:
    where = str(fact.equipment or fact.site)
    beside: Sentence = ()
    if fact.procedure:
        beside = say(
            "It stands beside a step of ", PageLink(str(fact.procedure), "training:procedure", fact.procedure.code), "."
        )
    elif fact.site_fact:
        beside = say(f"It stands beside the {fact.site_fact.name}, in every step that names it.")
    return FactWords(
        say("A photo of ", where, " was kept ", on_day(fact)),
        sentences(
            labelled("What it shows", fact.says),
            beside,
            say(
                PageLink("The photo", "training:place_photo", fact.pk),
                ", as it was kept, with what was covered left out.",
            ),
        ),
    )
