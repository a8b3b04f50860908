"""A history placed elsewhere in the calendar: every day and instant by the same number of days, at the same hour on the clock."""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from clinic.rules.words import MONTHS, short_day

DAY = re.compile(r"\d{4}-\d\d-\d\d")
INSTANT = re.compile(r"\d{4}-\d\d-\d\dT[\d:.]+\+00:00")
SHORT = tuple(name[:3] for name in MONTHS)
SAID = re.compile(rf"\b(\d{{1,2}}) ({'|'.join(SHORT)}) (\d{{4}})\b")


@dataclass(frozen=True, slots=True)
class Placed:
    """`by`: whole weeks, so that each day keeps its weekday."""

    by: timedelta
    zone: ZoneInfo

    def value(self, value: Any) -> Any:
        """A column of a day or an instant."""
        if isinstance(value, datetime):
            return self.instant(value)
        return value + self.by if isinstance(value, date) else value

    def instant(self, at: datetime) -> datetime:
        """The same hour on the clock of the place, in summer and in winter."""
        clock = at.astimezone(self.zone).replace(tzinfo=None)
        return (clock + self.by).replace(tzinfo=self.zone).astimezone(UTC)

    def words(self, value: Any) -> Any:
        """What holds days among other words: lists and tables of them, and sentences that say one."""
        if isinstance(value, dict):
            return {key: self.words(each) for key, each in value.items()}
        if isinstance(value, list):
            return [self.words(each) for each in value]
        if not isinstance(value, str):
            return value
        if DAY.fullmatch(value):
            return (date.fromisoformat(value) + self.by).isoformat()
        if INSTANT.fullmatch(value):
            return self.instant(datetime.fromisoformat(value)).isoformat()
        return SAID.sub(self.said, value)

    def said(self, found: re.Match[str]) -> str:
        day, month, year = found.groups()
        return short_day(date(int(year), SHORT.index(month) + 1, int(day)) + self.by)
