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
