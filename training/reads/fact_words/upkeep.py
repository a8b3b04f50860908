"""Upkeep, its readings and what followed from them, and the use of units, in words."""

from clinic.models import EntryPhoto, Fact, FollowUp, ResultRead, TaskSetting, UpkeepEntry, Use
from clinic.reads.entries import covers_of
from clinic.rules.site_text import by_name
from clinic.rules.words import begun, counted, day_words, every, in_text
from training.reads.fact_words.parts import (
    FactWords,
    PageLink,
    Sentence,
    fact_link,
    from_day,
    labelled,
    on_day,
    say,
    section,
    sentences,
    to_fact,
    unit,
    who,
    writes,
)


@writes(UpkeepEntry, "upkeep entry")
def entry(fact: UpkeepEntry) -> FactWords:
    cover = covers_of(fact.site.organisation, [fact])[0]
    opened = FollowUp.objects.filter(entry=fact, result__isnull=True).in_order()
    later = ResultRead.objects.filter(entry=fact).in_order()
    return FactWords(
        say(f"{fact.task.title} was done on {fact.equipment} ", on_day(fact)),
        sentences(
            say("Done by ", who(fact.done_by), say(", with ", who(fact.stood_by), " standing by") if fact.stood_by else "", ", on ", unit(fact.equipment), "."),
            cover.sentence,
            say("It was done while it was watched: ", to_fact(fact.from_observation), ".") if fact.from_observation else None,
            labelled("Note", fact.note),
        ),
        section("What was read", read(fact, fact.readings))
        + section("What followed", [
            *(say(begun(f"{following(row)}: "), fact_link(row)) for row in [*later, *opened]),
            *(say(PageLink("A photo", "clinic:photo", row.pk), " was taken.") for row in EntryPhoto.objects.live().filter(entry=fact)),
        ]),
    )  # fmt: skip


def following(row: Fact) -> str:
    if isinstance(row, FollowUp):
        return f"a reading was out of limits, to be answered by {day_words(row.due_on)}"
    return f"read on {day_words(row.happened_on)}"


def read(fact: UpkeepEntry, given: dict[str, object]) -> list[Sentence | str]:
    """Label, value and unit of each reading, in the order of the task."""
    return [
        f"{begun(by_name(spec['label']))}: {given[spec['key']]} {spec.get('unit') or ''}".strip()
        for spec in fact.task.readings
        if spec["key"] in given
    ]


@writes(ResultRead, "result read later")
def result_read(fact: ResultRead) -> FactWords:
    opened = FollowUp.objects.filter(result=fact).in_order()
    return FactWords(
        say(f"The result of {in_text(fact.entry.task.title)} of {day_words(fact.entry.happened_on)} was read ", on_day(fact)),
        sentences(
            say("Read by ", who(fact.done_by), "; it belongs to ", fact_link(fact.entry), " on ", unit(fact.entry.equipment), "."),
            labelled("Note", fact.note),
        ),
        section("What was read", read(fact.entry, fact.readings))
        + section("What followed", [say(begun(f"{following(row)}: "), fact_link(row)) for row in opened]),
    )  # fmt: skip


@writes(EntryPhoto, "photo of upkeep")
def photo(fact: EntryPhoto) -> FactWords:
    return FactWords(
        say(f"A photo of {fact.entry.equipment} was taken ", on_day(fact)),
        sentences(
            say(PageLink("The photo", "clinic:photo", fact.pk), " goes with ", fact_link(fact.entry), "."),
            "The seal covers every byte of it.",
        ),
    )


@writes(Use, "use of a unit")
def use(fact: Use) -> FactWords:
    way = {True: "wet", False: "dry", None: ""}[fact.wet]
    one, many = ("cycle", "cycles") if fact.equipment.kind == "torque driver" else ("part", "parts")
    return FactWords(
        say(f"{begun(str(fact.equipment))} did {counted(fact.units, one, many)} ", on_day(fact)),
        sentences(
            say("They count for the upkeep of ", unit(fact.equipment), "."),
            labelled("Material", " ".join(filter(None, (fact.material, way)))),
        ),
    )


@writes(FollowUp, "follow-up of a reading")
def follow_up(fact: FollowUp) -> FactWords:
    labels = {spec["key"]: by_name(spec["label"]) for spec in fact.entry.task.readings}
    return FactWords(
        say(
            f"A reading of {fact.entry.equipment} was out of limits ({labels.get(fact.reading, fact.reading)}) ",
            on_day(fact),
        ),
        sentences(
            say("It was read with ", fact_link(fact.result or fact.entry), " on ", unit(fact.entry.equipment), "."),
            say(f"A good reading that stands answers it; it was due by {day_words(fact.due_on)}."),
            labelled("What to do", by_name(fact.what_to_do)),
        ),
    )


@writes(TaskSetting, "interval of a task")
def task_setting(fact: TaskSetting) -> FactWords:
    days = every(fact.every_days, "days") if fact.every_days else ""
    units = every(fact.every_units, fact.task.unit_word) if fact.every_units else ""
    often = " or ".join(filter(None, (days, units))) or "no interval"
    return FactWords(
        say(f"{fact.task.title} is due every {often} here, {from_day(fact)}"),
        sentences(
            f"It is announced as due {counted(fact.warn_days, 'day')} before the last good day."
            if fact.warn_days
            else None,
            f"It is announced as due from {fact.plan_units:,} {fact.task.unit_word} on." if fact.plan_units else None,
            labelled("Source", fact.source),
        ),
    )
