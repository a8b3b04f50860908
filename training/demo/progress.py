"""What the players remember of one person in one procedure.

How long a sign-off lasts they count in days, and never longer than the register says: months differ in length, and a history
that is placed elsewhere in the calendar is to be played alike.
"""

from dataclasses import dataclass, field
from datetime import date, timedelta

from training.rules.facts import Policy

SLACK = 8  # days by which the register's end may lie beyond the players' own, after a renewal or two
HALF_A_YEAR_AT_MOST = 300  # days; a sign-off that lasts longer is one for the months of later years


@dataclass(slots=True)
class Progress:
    """`ends`: by the calendar; `until`: how far the players rely on it, where a new version asks to be watched sooner."""

    checked: bool = False
    met: int = 0
    days: set[date] = field(default_factory=set)
    signed_on: date | None = None
    ends: date | None = None
    until: date | None = None
    carried_until: date | None = None
    last_done: date | None = None
    tries: int = 0
    lapsed_on_purpose: bool = False

    def holds_on(self, day: date) -> bool:
        if self.signed_on and self.signed_on <= day:
            return self.until is None or day <= self.until
        return self.carried_until is not None and day <= self.carried_until

    def is_to_learn(self, day: date) -> bool:
        """Never signed, or lapsed for more than a year."""
        return self.signed_on is None or (self.until is not None and self.until < day - timedelta(days=365))

    def sign(self, day: date, valid_until: date | None, policy: Policy) -> None:
        self.until = self.ends = self.reckoned(day, valid_until, policy)
        self.signed_on, self.met, self.days, self.checked = day, 0, set(), False

    def reckoned(self, day: date, valid_until: date | None, policy: Policy) -> date | None:
        """Where it ends; from the end of the one before, if this one is signed in its notice days."""
        if valid_until is None:
            return None
        first, later = policy.first_year_months, policy.renewal_months
        months = first if first and (valid_until - day).days < HALF_A_YEAR_AT_MOST else later
        assert months is not None
        renews = self.signed_on and self.ends and self.until and day <= self.until
        in_notice = renews and self.ends and day >= self.ends - timedelta(days=policy.notice_days - SLACK)
        start = self.ends if in_notice and self.ends else day
        return start + timedelta(days=fewest_days(months))

    def watch_again_by(self, day: date) -> None:
        """A new version asks whoever holds it to be watched once more."""
        if self.signed_on:
            self.until = min(self.until or date.max, day)
            self.met = 0

    def withdraw(self) -> None:
        self.signed_on = self.ends = self.until = self.carried_until = None
        self.met, self.checked, self.days = 0, False, set()


def fewest_days(months: int) -> int:
    """No more than so many months have anywhere in the calendar."""
    return months * 365 // 12 - 2
