"""Coverage asked with sets of days, one day at a time. Written from the text; shares only the plain facts with the rule."""

from datetime import date, timedelta

from training.rules.coverage import Staff

DAY = timedelta(days=1)
LONG_AGO, FAR = date(2024, 1, 1), date(2027, 1, 1)


def days_of(stretches):
    found = set()
    for first, after in stretches:
        here = max(first, LONG_AGO)
        while here < (after or FAR):
            found.add(here)
            here += DAY
    return found


class Slow:
    """A site with its people, for one duty."""

    def __init__(self, people: list[Staff], duty: str, minimum: int, closed) -> None:
        self.people, self.minimum, self.closed = people, minimum, days_of(closed)
        self.away = {p.name: days_of(p.absences) for p in people}
        self.able = {p.name: days_of(p.usable.get(duty, ())) for p in people}
        self.sign = {p.name: days_of(p.may_sign.get(duty, ())) for p in people}
        self.ready = {p.name: p.ready_by[duty] for p in people if duty in p.ready_by}

    def is_working_day(self, day: date) -> bool:
        return day not in self.closed and any(day.weekday() in p.weekdays for p in self.people)

    def at_work(self, day: date) -> list[str]:
        return [p.name for p in self.people if day.weekday() in p.weekdays and day not in self.away[p.name]]

    def usable(self, day: date) -> list[str]:
        return [name for name in self.at_work(day) if day in self.able[name]]

    def signers(self, day: date) -> list[str]:
        return [name for name in self.at_work(day) if day in self.sign[name]]

    def lost(self, day: date) -> list[tuple[str, date]]:
        """Whoever is at work and was usable once, with the last day of it."""
        gone = [name for name in self.at_work(day) if day not in self.able[name]]
        before = {name: [each for each in self.able[name] if each < day] for name in gone}
        return [(name, max(days)) for name, days in before.items() if days]

    def short(self, day: date) -> int:
        return max(0, self.minimum - len(self.usable(day)))

    def repair(self, days: list[date]) -> tuple[str, date] | None:
        """Who can be ready soonest, of those who are not usable on the first short day."""
        short = [day for day in days if self.is_working_day(day) and self.short(day)]
        if not short:
            return None
        able = [(self.ready[name], name) for name in self.ready if short[0] not in self.able[name]]
        return min(able)[::-1] if able else None
