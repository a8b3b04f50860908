"""Findings asked one day, one fact and one chain at a time. Written from the text; each answers for one day with what is said
of whom, and shares only the plain facts with the rules. `by_day` joins the days, so that spans are compared and not days."""

from collections import defaultdict
from datetime import date, timedelta
from itertools import pairwise, permutations

from clinic.rules.spores import SporeResult
from clinic.rules.upkeep_facts import UpkeepState

DAY = timedelta(days=1)


def by_day(answer, first, last):
    """{(who, said, first day, first day after it or None)}: every day asked by itself, {who: said}, days that say the same of
    somebody joined. What still holds on the last day is taken to last."""
    found, running, here = set(), {}, first
    while here <= last:
        said = answer(here)
        for who in [who for who in running if who not in said or said[who] != running[who][0]]:
            words, since = running.pop(who)
            found.add((who, words, since, here))
        for who, words in said.items():
            running.setdefault(who, (words, here))
        here += DAY
    return found | {(who, words, since, None) for who, (words, since) in running.items()}


def as_said(found, who, said, last):
    """The same of what the rules return; what ends after the last day that was asked is taken to last."""
    parts = [one for one in found if one.first <= last]
    return {(who(one), said(one), one.first, one.after if one.after and one.after <= last else None) for one in parts}


def lawful(found):
    """The parts of one occurrence touch, begin on its first day, and only the last may have no end; neighbours differ."""
    parts = defaultdict(list)
    for one in sorted(found, key=lambda one: one.first):
        parts[one.key].append(one)
    for mine in parts.values():
        assert mine[0].first == mine[0].since and len({(one.since, one.code) for one in mine}) == 1
        for one, other in pairwise(mine):
            assert one.after == other.first
            assert (one.weight, one.evidence, one.sentence) != (other.weight, other.evidence, other.sentence)
    return all(one.after is None or one.first < one.after for one in found)


def holds(days, day):
    return any(first <= day and (after is None or day < after) for first, after in days)


def is_overdue(spans, day):
    return any(s.state is UpkeepState.OVERDUE and s.first <= day and (s.after is None or day < s.after) for s in spans)


def overdue(task, today):
    """First day and causes of an unbroken overdue run that today lies in."""
    if not is_overdue(task.spans, today):
        return {}
    first = today
    while is_overdue(task.spans, first - DAY):
        first -= DAY
    causes = []
    for n in range((today - first).days + 1):
        (span,) = [s for s in task.spans if s.holds_on(first + n * DAY)]
        causes += [span.cause] if span.cause not in causes else []
    return {task.unit_id: (first, tuple(causes))}


def past_check(spans, uses, today, start):
    """Each overdue run until today with a use in it: {first day of the run: (ids of uses, whether it still lasts)}."""
    run, here, found = [], start, {}
    while here <= today:
        run = [*run, here] if is_overdue(spans, here) else []
        used = tuple(use.id for use in uses if use.day in run)
        if used:
            found[run[0]] = (used, run)
        here += DAY
    return {first: (used, today in run) for first, (used, run) in found.items()}


def late(follow_ups, today):
    """On the day after its due day, if it was not closed by the due day."""
    found = {}
    for one in follow_ups:
        closed = one.closed_on is not None and one.closed_on <= today
        if today > one.due_on and not (closed and one.closed_on <= one.due_on):
            found[one.id] = "note" if closed else "fix"
    return found


def unproved(tests, today):
    """What was read by today; and, with "unread", what was put in more than a week ago and was not."""
    read, found = [one for one in tests if one.read_on and one.read_on <= today], {}
    for test in (one for one in read if one.result is SporeResult.INVALID):
        later = [other for other in read if other.unit_id == test.unit_id and test.day <= other.day]
        found[test.id] = "note" if any(other.result is SporeResult.PASS for other in later) else "fix"
    waiting = [one for one in tests if one not in read and (today - one.day).days > 7]
    return found | {f"{one.id} unread": "fix" for one in waiting}


def past_life(tools, today):
    """More units than a full life, of a tool that is still there."""
    used = {one.id: [units for day, units in one.used if day <= today] for one in tools}
    there = [one for one in tools if one.removed is None or today < one.removed]
    return {one.id: one.full for one in there if any(units > one.full for units in used[one.id])}


def in_some_ring(links, anchors, today):
    """Ids of links on a round of people, none of whom a chain from an anchored person reaches; by procedure."""
    alive = [one for one in links if one.day <= today and (one.after is None or today < one.after)]
    found = {}
    for code in {link.procedure for link in alive}:
        pairs = {(link.signer, link.person) for link in alive if link.procedure == code}
        people = {person for pair in pairs for person in pair}
        reached = {person for procedure, person, day in anchors if procedure == code and day <= today}
        for _ in people:
            reached |= {person for signer, person in pairs if signer in reached}
        loose = people - reached
        rounds = set()
        for size in range(1, len(loose) + 1):
            for chosen in permutations(sorted(loose), size):
                steps = set(zip(chosen, (*chosen[1:], chosen[0]), strict=True))
                if steps <= pairs:
                    rounds |= steps
        ids = sorted(link.id for link in alive if link.procedure == code and (link.signer, link.person) in rounds)
        if ids:
            found[code] = tuple(ids)
    return found


def overdue_training(required, today):
    """{(person, code): the day it is late from}: asked, its earliest due day passed, and not usable."""
    return {(one.person_id, one.code): late_from(one, today) for one in required if due_passed(one, today)}


def due_passed(one, day):
    dues = [ask.due_on for ask in one.asks if ask.first <= day and (ask.after is None or day < ask.after)]
    return not holds(one.usable, day) and any(due < day for due in dues)


def late_from(one, day):
    while due_passed(one, day - DAY):
        day -= DAY
    return day


def reasons(signatures, today):
    """What is wrong with each signature; nothing once it was withdrawn."""
    found = {}
    for one in signatures:
        wrong = set()
        if one.day > today or (one.withdrawn is not None and one.withdrawn <= today):
            continue
        if one.signer_id == one.person_id:
            wrong.add("signed for oneself")
        if not one.had_authority:
            wrong.add("without authority")
        if not one.was_usable:
            wrong.add("while not usable")
        found |= {one.id: frozenset(wrong)} if wrong else {}
    return found


def unanswered(misses, today):
    asked = [one for one in misses if one.day < today and not (one.answered_on and one.answered_on <= today)]
    return {one.id: "stop" for one in asked}


def short_of_signers(duties, today, start):
    """{who alone can sign, or nobody: the codes}."""
    found = defaultdict(list)
    for duty in duties:
        can = [who for who in duty.signers if holds(duty.signers[who], today)]
        if today >= start and holds(duty.needed, today) and len(can) < 2:
            found[can[0] if can else "nobody"].append(duty.code)
    return {who: tuple(sorted(codes)) for who, codes in found.items()}


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


def old_work(people, today):
    """{(person, procedure, deadline): ids of work done by today}."""
    found = {}
    for one in people:
        ids = frozenset(fact for fact, day in one.entries if day <= today)
        found |= {(one.person_id, one.procedure, one.since.isoformat()): ids} if ids else {}
    return found


def empty_facts(asked, today):
    found = {}
    for one in asked:
        using = sorted(code for code, days in one.used.items() if holds(days, today))
        if using and not (one.answered and one.answered <= today):
            found[one.name, one.unit] = tuple(using)
    return found


def late_first_days(asked, today):
    found = {}
    for role in {one.role_id for one in asked}:
        days = [one.days for one in asked if one.role_id == role and holds([(one.first, one.after)], today)]
        if days and min(days) > 0:
            found[role] = min(days)
    return found


def of_checks(checks, start, today):
    """The last check by today decides: broken, or late on the eighth day."""
    done = [one for one in checks if one.day <= today]
    last = max(done, key=lambda one: (one.day, checks.index(one)), default=None)
    if last and last.breaks:
        return {"broken seal": last.id}
    since = late_since(last.day if last else None, start, 7, today)
    return {"seal check late": since} if since else {}


def of_safeguards(kept, start, today):
    found = {}
    for kind, allowed in (("backup", 7), ("restore drill", 92)):
        done = [one for one in kept.get(kind, []) if one.day <= today]
        last = max(done, key=lambda one: (one.day, kept[kind].index(one)), default=None)
        since = late_since(last.day if last else None, start, allowed, today)
        if last and not last.good:
            found[f"{kind} failed"] = last.day
        elif since:
            found[f"{kind} late"] = since
    return found


def late_since(last, start, allowed, today):
    """The first day that is more than so many days after the last time (or the start), if it has come."""
    here = last or start
    for _ in range(allowed + 1):
        here += DAY
    return here if here <= today else None


def new_classes(products, start, last):
    """{product id: (the day it came, its new classes)}, by walking through the days of the list."""
    seen, found, here = set(), {}, min([start, *(one.since for one in products)])
    while here <= last:
        for one in [each for each in products if each.since == here]:
            new = [name for n, name in enumerate(one.classes) if name not in seen and name not in one.classes[:n]]
            seen |= set(new)
            if new and here > start:
                found[one.id] = (here, tuple(new))
        here += DAY
    return found


def untaught(new, waiting, today):
    """From the eighth day on, while anybody is left: who."""
    found = {}
    for key, (since, _) in new.items():
        left = tuple(name for name, days in waiting[key] if holds(days, today))
        if left and today >= since + 8 * DAY:
            found[key] = left
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


def stood_in(parts, actions, first, last):
    """Keys of what stood on some day of the period, each day asked by itself: a stretch that holds; of a note, until the day
    on which it was explained."""
    found, here = set(), first
    while here <= last:
        for one in [each for each in parts if each.holds_on(here)]:
            done = [a.day for a in actions if (a.finding, a.since) == (one.key, one.since) and a.day <= last]
            if one.weight.value != "note" or not done or here <= max(min(done), one.first):
                found.add(one.key)
        here += DAY
    return found


def on_the_last(parts: list, last: date):
    """The last stretch of each key that had begun by the end."""
    begun = sorted((one for one in parts if one.first <= last), key=lambda one: one.first)
    return {one.key: one for one in begun}
