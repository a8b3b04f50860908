"""Findings asked one day, one fact and one chain at a time. Written from the text; each answers with code, subject, weight
and first day, and shares only the plain facts with the rules."""

from datetime import date, timedelta
from itertools import permutations

from clinic.rules.spores import Result
from clinic.rules.upkeep_facts import UpkeepState

DAY = timedelta(days=1)


def is_overdue(spans, day):
    return any(s.state is UpkeepState.OVERDUE and s.first <= day and (s.after is None or day < s.after) for s in spans)


def overdue(task, today):
    """(first day, days in all) of an unbroken overdue run that today lies in."""
    if not is_overdue(task.spans, today):
        return None
    first = today
    while is_overdue(task.spans, first - DAY):
        first -= DAY
    return first, sum(1 for _ in range((today - first).days)) + 1


def past_check(spans, uses, today, start):
    """Each overdue run until today with a use in it: (first day of the run, ids of uses, whether it still lasts)."""
    runs, here = [], start
    while here <= today:
        if is_overdue(spans, here):
            if not is_overdue(spans, here - DAY) or not runs:
                runs.append([])
            runs[-1].append(here)
        here += DAY
    found = []
    for run in runs:
        used = [use.id for use in uses if use.day in run]
        if used:
            found.append((run[0], used, today in run))
    return found


def late(follow_up, today):
    """Weight and whether it is a finding: on the day after its due day, if it was not closed by the due day."""
    closed = follow_up.closed_on is not None and follow_up.closed_on <= today
    in_time = closed and follow_up.closed_on <= follow_up.due_on
    if in_time or today <= follow_up.due_on:
        return None
    return "note" if closed else "fix"


def unproved(test, tests):
    if test.result is not Result.INVALID:
        return None
    later = [other for other in tests if other.unit_id == test.unit_id and other.day >= test.day]
    return "note" if any(other.result is Result.PASS for other in later) else "fix"


def in_some_ring(links, anchors):
    """Ids of links on a round of people, none of whom a chain from an anchored person reaches; by procedure."""
    found = {}
    for code in {link.procedure for link in links}:
        pairs = {(link.signer, link.person) for link in links if link.procedure == code}
        people = {person for pair in pairs for person in pair}
        reached = {person for procedure, person in anchors if procedure == code}
        for _ in people:
            reached |= {person for signer, person in pairs if signer in reached}
        loose = people - reached
        rounds = set()
        for size in range(1, len(loose) + 1):
            for chosen in permutations(sorted(loose), size):
                steps = set(zip(chosen, (*chosen[1:], chosen[0]), strict=True))
                if steps <= pairs:
                    rounds |= steps
        ids = {link.id for link in links if link.procedure == code and (link.signer, link.person) in rounds}
        if ids:
            found[code] = ids
    return found


def overdue_training(required, today: date):
    return {
        (one.person_id, one.procedure, (today - one.due_on).days)
        for one in required
        if not one.usable and any(one.due_on + n * DAY == today for n in range(1, 400))
    }


def reasons(signature):
    """What is wrong with a signature; nothing once it was withdrawn."""
    wrong = set()
    if signature.withdrawn:
        return wrong
    if signature.signer_id == signature.person_id:
        wrong.add("signed for oneself")
    if not signature.had_authority:
        wrong.add("without authority")
    if not signature.was_usable:
        wrong.add("while not usable")
    return wrong


def is_bare(doer, standing_by, procedure):
    """Work that a procedure covers, by somebody not usable, with nobody else usable standing by."""
    if procedure is None or doer.usable:
        return False
    return [person for person in standing_by if person.usable] == []


def gap_in(session):
    """The code of what is wrong with a session's record, if anything is."""
    if len(session.missing) == 0:
        return None
    return "record with a gap" if set(session.missing) - {"live questions with the trainer"} else "questions not live"


def sums_to_two(names):
    """Whether two people can sign, each counted once whatever they are called."""
    return any(one != other for one in range(len(names)) for other in range(len(names)))


def work_by_day(people, first, last):
    """{(person, procedure): first day of work}, asked of every day."""
    found, here = {}, last
    while here >= first:
        for one in people:
            if any(day == here for _, day in one.entries):
                found[one.person_id, one.procedure, one.since] = here
        here -= DAY
    return found


def late_since(last, start, allowed, today):
    """The first day that is more than so many days after the last time (or the start), if it has come."""
    here = last or start
    for _ in range(allowed + 1):
        here += DAY
    return here if here <= today else None


def untaught_hazards(products, start, today, left):
    """{product id: (first day of the finding, its new classes)}, by walking through the days of the list."""
    seen, found, here = set(), {}, min([start, *(one.since for one in products)])
    while here <= today:
        for one in [each for each in products if each.since == here]:
            new = [name for n, name in enumerate(one.classes) if name not in seen and name not in one.classes[:n]]
            seen |= set(new)
            day_of_finding = here + 8 * DAY
            if new and here > start and left.get(one.id) and day_of_finding <= today:
                found[one.id] = (day_of_finding, tuple(new))
        here += DAY
    return found


def is_closed(finding, actions):
    """Only a note is closed by words, and only by words about this appearance of it."""
    about_it = [one for one in actions if one.finding == finding.key and one.since == finding.since]
    return finding.weight.value == "note" and len(about_it) > 0


def comes_before(one, other):
    """The heavier first, then the older."""
    heavy = ["stop", "fix", "note"]
    weights = heavy.index(one.weight.value), heavy.index(other.weight.value)
    return weights[0] < weights[1] or (weights[0] == weights[1] and one.since < other.since)
