"""The gaps in the cover of a duty as stretches of working days, and the sentences that say them."""

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from clinic.rules.words import counted, day_words, listed, several, short_day
from training.rules.coverage import DutyCoverage


@dataclass(frozen=True, slots=True)
class Gap:
    """Working days one after another, `first` and `last` included, that share something; weekends do not part them."""

    first: date
    last: date
    days: int


def gaps(cover: DutyCoverage, picked: Collection[date]) -> list[Gap]:
    """The picked days of a duty, joined where no other working day lies between."""
    found: list[Gap] = []
    running = False
    for each in cover.days:
        if each.day in picked:
            begun = found.pop() if running else Gap(each.day, each.day, 0)
            found.append(Gap(begun.first, each.day, begun.days + 1))
        running = each.day in picked
    return found


def short_gaps(cover: DutyCoverage) -> list[Gap]:
    return gaps(cover, {each.day for each in cover.short_days})


def unsigned_gaps(cover: DutyCoverage) -> list[Gap]:
    return gaps(cover, frozenset(cover.unsigned_days))


def stretch_words(gap: Gap) -> str:
    """From 3 March 2026 to 6 March 2026; one day alone: on 3 March 2026."""
    if gap.first == gap.last:
        return f"on {day_words(gap.first)}"
    return f"from {day_words(gap.first)} to {day_words(gap.last)}"


def short_sentence(cover: DutyCoverage) -> str:
    """How often and how far the duty falls below its minimum; empty where it does not."""
    short = cover.short_days
    if not short:
        return ""
    least, found = short[0].minimum, [len(each.usable) for each in short]
    people = "nobody" if min(found) == 0 else f"only {several(min(found), 'person', 'people')}"
    at_worst = "" if min(found) == max(found) else "at worst "
    first, *others = short_gaps(cover)
    when = f"{several(len(short), 'working day', 'working days')}, {'first ' if others else ''}{stretch_words(first)}"
    every = "every working day" if len(short) == len(cover.days) else when
    return f"Below {least} on {every}: {at_worst}{people} at work may do it alone."


def unsigned_sentences(cover: DutyCoverage) -> list[str]:
    """Nobody can sign from … to …; one sentence a gap."""
    return [f"Nobody can sign {stretch_words(gap)}." for gap in unsigned_gaps(cover)]


def lapse_sentence(cover: DutyCoverage, names: Mapping[str, str]) -> str:
    """Whose lapse causes the short days, by their last good days, the earliest first; empty where nobody's does."""
    by_end: dict[date, set[str]] = defaultdict(set)
    for each in cover.short_days:
        for name, end in each.lost:
            by_end[end].add(names[name])
    told = [f"{short_day(end)} {listed(sorted(people))}" for end, people in sorted(by_end.items())]
    return f"Last good days: {'; '.join(told)}." if told else ""


def repair_sentence(cover: DutyCoverage, names: Mapping[str, str], ended_by: Mapping[str, str]) -> str:
    """Which training brings one more person soonest. Somebody who may still do it alone today needs a renewal only: of
    the duty, or of the prerequisite that ends it (`ended_by`: person → its code)."""
    if not cover.short_days:
        return ""
    if cover.repair is None:
        return (
            "No training of those whose job needs it repairs this: it is a matter of days away, or of one person more."
        )
    name, day = names[cover.repair.name], day_words(cover.repair.ready)
    if is_renewal(cover):
        below = ended_by.get(cover.repair.name, "")
        what = f"the sign-off of {name} in {below}, which it rests on" if below else f"the sign-off of {name}"
        return f"Repaired soonest by renewing {what}, possible from {day}."
    return f"Repaired soonest by training {name}, who could work alone on {day} at the earliest."


def is_renewal(cover: DutyCoverage) -> bool:
    """Whether the repair is somebody whose standing only ends between now and the first short day."""
    today = cover.days[0].day
    return any(
        cover.repair is not None and name == cover.repair.name and end >= today
        for name, end in cover.short_days[0].lost
    )


def in_words(cover: DutyCoverage) -> str:
    """What a chart of the duty shows, for whoever hears the page."""
    if not cover.days:
        return "No working day lies ahead"
    enough = len(cover.days) - len(cover.short_days)
    told = [f"{enough} of {counted(len(cover.days), 'working day')} {'is' if enough == 1 else 'are'} covered"]
    told += [f"below the least {stretch_words(gap)}" for gap in short_gaps(cover)]
    told += [f"nobody can sign {stretch_words(gap)}" for gap in unsigned_gaps(cover)]
    return ", ".join(told)


def count_runs(cover: DutyCoverage) -> Iterator[tuple[Gap, int]]:
    """Calendar days one after another with the same number of usable people at work."""
    run: Gap | None = None
    count = -1
    for each in cover.days:
        follows = run is not None and (each.day - run.last).days == 1 and len(each.usable) == count
        if run is not None and not follows:
            yield run, count
        run = Gap(run.first if run and follows else each.day, each.day, (run.days if run and follows else 0) + 1)
        count = len(each.usable)
    if run is not None:
        yield run, count
