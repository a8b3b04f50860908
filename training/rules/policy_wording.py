"""What a version asks, in words: for the page to study from, for what changed in a draft, and for paper.

Each part is one row (what it is about, what it asks). Days and months are those of the policy; "never" and "no" are
said, so that an absent part is an answer and not a gap.
"""

from collections.abc import Iterator, Mapping

from clinic.rules.words import counted, listed, number_words, several
from training.rules.facts import FromPaper, Policy
from training.rules.wording import NO_NAMES, methods_words, named

Row = tuple[str, str]
PAPER_COUNTS = {
    FromPaper.BOTH: "counts, once it is confirmed by whoever watched or by whoever compared it with the photo",
    FromPaper.RENEWAL: "counts for a renewal only, once it is confirmed by whoever watched or by whoever compared it with the photo",
    FromPaper.NEVER: "is kept, and never counts",
}


def policy_rows(policy: Policy, *, is_topic: bool = False, names: Mapping[str, str] = NO_NAMES) -> list[Row]:
    """Every part of the policy. `names` gives procedures and upkeep tasks their titles by code."""
    asked = topic_rows() if is_topic else [*first_rows(policy), *renewal_rows(policy)]
    return [*asked, *life_rows(policy), *rest_rows(policy, names)]


def topic_rows() -> list[Row]:
    return [("Counts once", "a session with everything on its record, and live questions with the trainer")]


def first_rows(policy: Policy) -> Iterator[Row]:
    """What a first sign-off asks."""
    yield (
        "Assessments",
        f"{number_words(policy.needed)} met, by {methods_words(policy.methods)}" if policy.needed else "none",
    )
    for quota in policy.by_method:
        yield f"Of them by {methods_words(quota.methods)}", f"{number_words(quota.count)} or more"
    if policy.needed:
        yield "On", f"{several(policy.distinct_days, 'day', 'different days')} or more"
        yield "Watched by", f"{several(policy.distinct_supervisors, 'person', 'different people')} or more"
    yield "Knowledge check", "passed, once" if policy.check_asked else "not needed"
    yield "Evidence counts for", counted(policy.window_days, "day")
    if policy.needed:
        yield "From paper, entered later", PAPER_COUNTS[policy.from_paper]


def renewal_rows(policy: Policy) -> Iterator[Row]:
    if policy.renewal_months is not None:
        one = f"{number_words(policy.renewal_needed)} met, by {methods_words(policy.renewal_methods)}"
        yield "A renewal needs", one if policy.renewal_needed else "no assessment"


def life_rows(policy: Policy) -> Iterator[Row]:
    """How long a sign-off lives, and what ends it early."""
    yield "Good for", good_for(policy)
    if policy.renewal_months is not None:
        yield "Due from", f"{counted(policy.notice_days, 'day')} before its last day"
    yield (
        "Ends early",
        f"after {counted(policy.idle_days, 'day')} without doing it" if policy.idle_days else "not by standing idle",
    )
    again = policy.reobserve_days
    yield "From an earlier version", f"watched again within {counted(again, 'day')}" if again else "goes on as it is"


def good_for(policy: Policy) -> str:
    if policy.renewal_months is None:
        return "always: it never lapses by the calendar"
    if policy.first_year_months is None:
        return counted(policy.renewal_months, "month")
    return f"{counted(policy.first_year_months, 'month')} in the first year, then {counted(policy.renewal_months, 'month')}"


def rest_rows(policy: Policy, names: Mapping[str, str]) -> Iterator[Row]:
    """What it rests on, and which upkeep the work counts for."""
    rests = listed([named(code, names) for code in policy.prerequisites])
    yield "Rests on", rests or "nothing else"
    if rests:
        grace = f"after {counted(policy.grace_days, 'day')}" if policy.grace_days else "at once"
        yield "On hold when one of these ends", grace
    if policy.upkeep_covered:
        yield "Upkeep that counts as doing it", listed([named(code, names) for code in policy.upkeep_covered])


def policy_changes(
    before: Policy, after: Policy, *, is_topic: bool = False, names: Mapping[str, str] = NO_NAMES
) -> list[tuple[str, str, str]]:
    """Parts that ask something else: (what it is about, before, after). A part that is gone or new has an empty side."""
    old, new = (dict(policy_rows(each, is_topic=is_topic, names=names)) for each in (before, after))
    return [(part, old.get(part, ""), new.get(part, "")) for part in {**old, **new} if old.get(part) != new.get(part)]
