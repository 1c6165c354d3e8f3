"""A rule of an almanac, which says on which days a show plays, and hours of less light."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path

from lumenmap.almanac.days import Days
from lumenmap.almanac.times import TimeOfDay
from lumenmap.almanac.values import Count, Values

_DAY = timedelta(days=1)
#: A rule of at most so many evenings a year is for a feast; Hanukkah has eight.
_FEW = 8


@dataclass(frozen=True, slots=True)
class Rule:
    """A show on its days. ``priority`` puts one-off days before all others."""

    name: str
    show: Path
    on: tuple[Days, ...]
    not_on: tuple[Days, ...]
    days_before: int
    days_after: int
    start: TimeOfDay
    stop: TimeOfDay
    priority: tuple[int, int]
    brightness: float
    in_quiet_hours: bool
    values: tuple[tuple[str, Count], ...] = ()

    def values_on(self, day: date) -> Values:
        """Return the show's values on a day on which the rule begins."""
        return tuple((name, count.on(day, self.on)) for name, count in self.values)

    @property
    def once(self) -> bool:
        """Whether it is a ``[[once]]`` table."""
        return bool(self.priority[0])

    def seldom(self, year: int) -> bool:
        """Return whether it plays on few evenings of a year, as on New Year's Eve."""
        days = frozenset().union(*(days.find(year) for days in self.on))
        return len(days) * (1 + self.days_before + self.days_after) <= _FEW

    def applies(self, day: date) -> bool:
        """Return whether the rule begins on a local day."""
        near = range(-self.days_after, self.days_before + 1)
        return any(day + i * _DAY in days for i in near for days in self.on) and not any(
            day in days for days in self.not_on
        )


@dataclass(frozen=True, slots=True)
class Dim:
    """All light is turned down from one time to another."""

    start: TimeOfDay
    stop: TimeOfDay
    brightness: float
