"""Upkeep asked one day at a time, by counting. Shares only the plain facts with the fast rule, none of its sums."""

from datetime import date, timedelta

from clinic.rules.upkeep_facts import PauseReason, UpkeepState

DAY = timedelta(days=1)


def live(facts, known_by):
    known = [f for f in facts if known_by is None or f.recorded_at <= known_by]
    return [f for f in known if not f.plain_voiding and not any(other.corrects == f.id for other in known)]


def rule_on(rules, day):
    started = [rule for start, rule in rules if start <= day]
    return started[-1] if started else rules[0][1]


def begins(life):
    return max(life.in_service_from, life.opening_last_done or life.in_service_from)


def in_service(life, day):
    return begins(life) <= day and (life.in_service_to is None or day <= life.in_service_to)


def is_paused(pauses, day):
    return any(p.day <= day and (p.after is None or day < p.after) for p in pauses)


def counting_days(pauses, last, day):
    return sum(not is_paused(pauses, last + n * DAY) for n in range(1, (day - last).days + 1))


def units(life, done, uses, last, day):
    if done:
        return sum(u.units for u in uses if last < u.day <= day)
    known = [u for u in uses if u.day <= day and (life.opening_last_done is None or u.day > life.opening_last_done)]
    return life.opening_units + sum(u.units for u in known)


def state_on(rules, life, entries, uses, pauses, day: date, known_by=None) -> UpkeepState | None:
    """What the day is by the text of the rule, or None outside the life of the unit."""
    if not in_service(life, day):
        return None
    entries, uses, pauses = (live(facts, known_by) for facts in (entries, uses, pauses))
    uses = [u for u in uses if in_service(life, u.day)]
    holding = [p.why for p in pauses if is_paused([p], day)]
    if holding:
        return UpkeepState.OUT_OF_SERVICE if PauseReason.OUT_OF_SERVICE in holding else UpkeepState.PAUSED
    entries = [e for e in entries if e.passed or not rule_on(rules, e.day).only_a_pass]
    done = [e.day for e in entries if in_service(life, e.day) and e.day <= day]
    if day in done:
        return UpkeepState.IN_TIME
    last = max(done) if done else life.opening_last_done or life.in_service_from
    rule = rule_on(rules, day)
    gone = (day - last).days if rule.only_a_pass else counting_days(pauses, last, day)
    made_before = units(life, done, uses, last, day - DAY) if day > last else 0
    made = units(life, done, uses, last, day)
    late = rule.every_days is not None and gone > rule.every_days
    if late or (rule.every_units is not None and made_before >= rule.every_units):
        return UpkeepState.OVERDUE
    warned = rule.every_days is not None and rule.every_days - gone <= rule.warn_days
    planned = rule.plan_units is not None and made >= rule.plan_units
    return UpkeepState.DUE if warned or planned else UpkeepState.IN_TIME
