"""How long a record is kept, and the clocks that the law sets a practice.

US federal baseline, checked only as far as the handbook's O rows say; states may ask more, so every period is a
setting with these as defaults. "Keep through" is the last day on which the record must still be there.
"""

from collections.abc import Collection, Hashable, Iterable
from datetime import UTC, date, datetime, timedelta
from enum import StrEnum

from clinic.rules.days import plus_months
from clinic.rules.words import counted, day_words

YEAR = 12
UPKEEP_YEARS = 3
"""Upkeep log, water results and spore tests where the site sets nothing else (own choice, D; state boards vary)."""


def yearly_due(last: date) -> date:
    """The last good day for the yearly repeat: one year after the last, 29 Feb falling on 28 Feb.

    The exposure control plan's review (29 CFR 1910.1030(c)(1)(iv), O-08), and by common practice, without a source, that of
    any other paper. Bloodborne-pathogen training (O-02) has the same year.
    """
    return plus_months(last, YEAR)


def keep_years(start: date, years: int) -> date:
    """Keep through the same day so many years later. ValueError for negative years."""
    if years < 0:
        raise ValueError(f"A retention period cannot be negative: {years} years.")
    return plus_months(start, years * YEAR)


def bbp_training_keep_through(trained_on: date) -> date:
    """3 years from the training date (29 CFR 1910.1030(h)(2)(ii); O-06)."""
    return keep_years(trained_on, 3)


def sharps_log_keep_through(injured_on: date) -> date:
    """5 years after the end of the calendar year of the injury (29 CFR 1904.33(a); O-12)."""
    return date(injured_on.year + 5, 12, 31)


def competency_keep_through(last_day_worked: date) -> date:
    """Observations and certificates: employment and 3 years (own choice, D; covers O-06)."""
    return keep_years(last_day_worked, 3)


def medical_keep_through(last_day_worked: date) -> date:
    """Employee medical record: employment and 30 years (29 CFR 1910.1020(d)(1)(i); O-18).

    The register holds no medical detail (D); this serves the list of what is kept elsewhere.
    """
    return keep_years(last_day_worked, 30)


def exposure_keep_through(recorded_on: date) -> date:
    """Exposure record, and the chemical list's identity, place and time of use: 30 years (29 CFR 1910.1020(d)(1)(ii)).

    For the list the years start at the last use (D). Source: O-18 and the retention table.
    """
    return keep_years(recorded_on, 30)


def upkeep_keep_through(entered_on: date, years: int = UPKEEP_YEARS) -> date:
    """Upkeep entries, water results and spore tests: 3 years by default (D; a site setting)."""
    return keep_years(entered_on, years)


def purge_offered_from(keep_through: Collection[date], legal_hold: bool = False) -> date | None:
    """The first day on which purging may be offered: the day after the longest period; None under a legal hold.

    ValueError without any period, because a record of no known period is never purged.
    """
    if not keep_through:
        raise ValueError("A record without a retention period is not purged.")
    return None if legal_hold else max(keep_through) + timedelta(days=1)


class Severe(StrEnum):
    """Events that every employer reports to OSHA, exempt from the log or not (29 CFR 1904.39; O-16)."""

    DEATH = "death"
    ADMISSION = "in-patient admission"
    AMPUTATION = "amputation"
    EYE_LOSS = "loss of an eye"


def report_from(happened_at: datetime | None, learned_at: datetime | None, filed_at: datetime) -> datetime:
    """When the hours begin: at the event, or when the practice learned of it, where that was later (29 CFR 1904.39(b)(7)
    and (b)(8), from memory; O-16). Where neither time was written down, it was known at the latest when it was filed.
    """
    return learned_at or happened_at or filed_at


def report_by(event: Severe, learned_at: datetime) -> datetime:
    """The latest moment to report: a death within 8 hours, the others within 24, in the zone of `learned_at` (O-16).

    Hours that really pass, also over a change of the clocks. ValueError without a time zone.
    """
    if learned_at.tzinfo is None:
        raise ValueError("The moment it was learned of needs a time zone.")
    hours = 8 if event is Severe.DEATH else 24
    return (learned_at.astimezone(UTC) + timedelta(hours=hours)).astimezone(learned_at.tzinfo)


def hepatitis_b_offer_by(assigned_on: date) -> date:
    """The last day to offer the vaccine: 10 working days after assignment (29 CFR 1910.1030(f)(2); O-19, from memory)."""
    return plus_working_days(assigned_on, 10)


def vaccine_words(name: str, assigned_on: date, today: date) -> str:
    """What is to be thought of while somebody is new; empty before they begin and once the day is over. The register keeps
    neither the offer nor the answer, and does not know whether the rule binds the practice or the work."""
    by = hepatitis_b_offer_by(assigned_on)
    if not assigned_on <= today <= by:
        return ""
    return (
        f"Where the US federal rule holds and {name}’s work may meet blood, the hepatitis B vaccine is offered by {day_words(by)}: "
        f"within 10 working days after {day_words(assigned_on)}, Monday to Friday (29 CFR 1910.1030(f)(2), from memory). "
        "Elsewhere follow the local code. The answer is kept elsewhere, not in this register."
    )


def plus_working_days(start: date, count: int) -> date:
    """The day so many working days after `start`: Monday to Friday. Holidays are not known, so it is never too late by the
    law's own count. ValueError for a negative count."""
    if count < 0:
        raise ValueError(f"Working days cannot be negative: {count}.")
    day = start
    while count:
        day += timedelta(days=1)
        count -= day.weekday() < 5
    return day


def peak_headcount(stretches: Iterable[tuple[Hashable, date, date | None]], year: int) -> int:
    """The most people on one day of the year. `stretches`: who, from and to which day (both good days; None: no end)."""
    first, last = date(year, 1, 1), date(year, 12, 31)
    there = [(who, max(start, first), min(end or last, last)) for who, start, end in stretches]
    there = [one for one in there if one[1] <= one[2]]
    days = {start for _, start, _ in there}  # the number grows on first days only
    return max((len({who for who, start, end in there if start <= day <= end}) for day in days), default=0)


def is_exempt_by_size(peak_headcount: int) -> bool:
    """Ten employees or fewer at all times of the calendar year before (29 CFR 1904.1; O-14). ValueError if negative."""
    if peak_headcount < 0:
        raise ValueError(f"A headcount cannot be negative: {peak_headcount}.")
    return peak_headcount <= 10


EXEMPT_NOTE = "Partly exempt from keeping the OSHA injury log, unless asked in writing by OSHA, BLS or the state."
"""Beside an exemption by size or industry (O-14, O-15)."""


def size_words(peak: int, year: int, since: date) -> str:
    """What the number of people says of the duty to keep the log. It says no duty, and nothing where the register, which
    answers from the day `since`, does not know the whole year: whoever left before is not in it."""
    rule = "In the US, ten or fewer all through the year before (29 CFR 1904.1)"
    if since > date(year, 1, 1):
        return f"This register does not know all of {year}. {rule} would be an exemption by size: count for yourself."
    known = f"This register knows of at most {counted(peak, 'person', 'people')} at work in the whole practice on one day of {year}."
    if is_exempt_by_size(peak):
        return f"{known} {rule} is: {EXEMPT_NOTE[0].lower()}{EXEMPT_NOTE[1:]}"
    return f"{known} {rule} would be an exemption by size; that is more. Another goes by the kind of practice: ask whoever advises you."


def sharps_log_label(must_keep_1904: bool) -> str:
    """Whose duty the sharps log is (29 CFR 1910.1030(h)(5)(ii); O-11): it binds only who keeps a 1904 log."""
    if must_keep_1904:
        return "Kept under 29 CFR 1910.1030(h)(5): contaminated sharps."
    return "Kept voluntarily: the duty is only for employers who must keep a 29 CFR 1904 log."
