"""Whether what a policy asks can be met and makes sense, before anybody approves it. Each fault is a sentence with its remedy.

A text without steps is a taught topic: a countable session is its sign-off, so what is said of assessments does not
apply to it. All limits here are our own choice (D), no outside authority.
"""

from collections.abc import Iterable, Iterator
from datetime import date
from graphlib import CycleError, TopologicalSorter

from clinic.rules.days import plus_months
from clinic.rules.words import counted
from training.rules.facts import MethodQuota, Policy
from training.rules.texts import Content

Edge = tuple[str, str]
"""A procedure and one that it rests on."""


def policy_faults(policy: Policy, content: Content) -> list[str]:
    """Everything wrong with the policy, at once; empty where nothing is."""
    found = [*number_faults(policy), *life_faults(policy)]
    return [*found, *assessment_faults(policy), *quota_faults(policy)] if content.steps else found


def number_faults(policy: Policy) -> Iterator[str]:
    """Numbers too small to mean anything."""
    least = {
        "needed": 0, "renewal_needed": 0, "distinct_days": 1, "distinct_supervisors": 1, "window_days": 1,
        "renewal_months": 1, "first_year_months": 1, "notice_days": 0, "idle_days": 1, "reobserve_days": 1, "grace_days": 0,
    }  # fmt: skip
    for name, low in least.items():
        value = getattr(policy, name)
        if value is not None and value < low:
            yield f"{name} is {value}: set it to {low} or more."


def months_of(policy: Policy) -> list[int]:
    """The lives that a sign-off may have, in months; none where it never lapses by the calendar."""
    return [months for months in (policy.first_year_months, policy.renewal_months) if months is not None and months > 0]


def days_in(months: int) -> range:
    """From the fewest to the most days that so many months can have, both included."""
    starts = [date(2023 + year, month, 1) for year in range(4) for month in range(1, 13)]
    lengths = [(plus_months(start, months) - start).days for start in starts]
    return range(min(lengths), max(lengths) + 1)


def life_faults(policy: Policy) -> Iterator[str]:
    """Days that do not fit the life of a sign-off."""
    lives = months_of(policy)
    if not lives:
        return
    shortest, longest = days_in(min(lives)).start, days_in(max(lives)).stop - 1
    if policy.window_days < longest:
        yield (
            f"window_days is {policy.window_days}, but a sign-off can live {counted(longest, 'day')}, so evidence for its renewal "
            f"would age out: set it to {longest} or more."
        )
    if policy.notice_days > shortest:
        yield (
            f"notice_days is {policy.notice_days}, but a sign-off can end after {counted(shortest, 'day')}: set it to fewer days "
            "than the shortest life."
        )


def assessment_faults(policy: Policy) -> Iterator[str]:
    """Assessments that are not asked, or asked on more days and by more people than there are assessments."""
    if not policy.needed and not policy.check_asked:
        yield "needed is 0 and check_asked is off, so anybody could be signed off: ask for an assessment or for the check."
    if policy.renewal_months is not None and not policy.renewal_needed and not policy.check_asked:
        yield (
            "renewal_months asks for a renewal, but renewal_needed is 0 and check_asked is off: ask for an assessment "
            "or for the check, or let renewal_months be never."
        )
    for name, of in (("distinct_days", "days"), ("distinct_supervisors", "people")):
        if getattr(policy, name) > max(policy.needed, 1):
            yield (
                f"{name} is {getattr(policy, name)}, but {counted(policy.needed, 'assessment')} cannot be on so many {of}: "
                "lower it, or raise needed."
            )
    for name, number in (("methods", policy.needed), ("renewal_methods", policy.renewal_needed)):
        if number and not getattr(policy, name):
            yield f"{name} is empty, so no assessment would count: name at least one method."


def quota_faults(policy: Policy) -> Iterator[str]:
    """Numbers by given methods that the assessments asked for cannot reach."""
    for quota in policy.by_method:
        words = " or ".join(sorted(quota.methods)) or "no method"
        if quota.count < 1 or not quota.methods:
            yield f"by_method asks {quota.count} by {words}: ask at least 1 by at least one method, or take it out."
        if quota.count > policy.needed:
            yield f"by_method asks {quota.count} by {words}, but needed is {policy.needed}: lower it, or raise needed."
        if other := sorted(quota.methods - policy.methods):
            yield f"by_method names {', '.join(other)}, which methods does not: add it there, or take it out here."
    total = sum(quota.count for quota in policy.by_method)
    if total > policy.needed and are_disjoint(policy.by_method) and len(policy.by_method) > 1:
        yield f"by_method asks {total} in all, but needed is {policy.needed}: lower the numbers, or raise needed."


def are_disjoint(quotas: Iterable[MethodQuota]) -> bool:
    """Whether no assessment can count for two of them."""
    methods = [method for quota in quotas for method in quota.methods]
    return len(methods) == len(set(methods))


def cycles(edges: Iterable[Edge]) -> list[tuple[str, ...]]:
    """Rings of procedures that rest on each other, each from its first code on; after one is found, one edge of it is
    left out of the further search, so rings that share every edge are told as one."""
    left, found = set(edges), []
    while ring := first_ring(left):
        found.append(ring)
        left.discard((ring[0], ring[1 % len(ring)]))
    return found


def first_ring(edges: set[Edge]) -> tuple[str, ...] | None:
    graph: dict[str, set[str]] = {}
    for code, needed in sorted(edges):
        graph.setdefault(code, set()).add(needed)
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        ring: list[str] = error.args[1][:0:-1]
        start = ring.index(min(ring))
        return tuple(ring[start:] + ring[:start])
    return None


def cycle_faults(edges: Iterable[Edge]) -> list[str]:
    """`edges`: (procedure, what it rests on) over all versions ever approved, and the draft's own."""
    return [ring_sentence(ring) for ring in cycles(edges)]


def ring_sentence(ring: tuple[str, ...]) -> str:
    if len(ring) == 1:
        return f"prerequisites of {ring[0]} name {ring[0]} itself: take it out."
    way = ", which rests on ".join([*ring, ring[0]])
    return f"prerequisites form a ring: {way.replace(', which rests on', ' rests on', 1)}. Take one of them out."
