"""Dates as an almanac writes them: ``2026-12-24``, or ``2026-12-03..2026-12-10``."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

_DAY = timedelta(days=1)
_DATED = re.compile(r"(\d{4}-\d\d-\d\d)(?:\s*\.\.\s*(\d{4}-\d\d-\d\d))?")


@dataclass(frozen=True, slots=True, order=True)
class Span:
    """Days in a row, the last one included."""

    first: date
    last: date

    @property
    def text(self) -> str:
        """As an almanac has it."""
        first = self.first.isoformat()
        return first if self.first == self.last else f"{first}..{self.last.isoformat()}"

    def __contains__(self, day: date) -> bool:
        return self.first <= day <= self.last

    def __iter__(self) -> Iterator[date]:
        return (self.first + i * _DAY for i in range(len(self)))

    def __len__(self) -> int:
        return (self.last - self.first).days + 1

    def without(self, other: Span) -> list[Span]:
        """Return what of it lies before another span, and what lies after that."""
        if other.last < self.first or self.last < other.first:
            return [self]
        before = [Span(self.first, other.first - _DAY)] if self.first < other.first else []
        return before + ([Span(other.last + _DAY, self.last)] if other.last < self.last else [])


def dated(written: object) -> Span | None:
    """Return the dates of a table's ``date``, TOML's own date too; None for days of every year."""
    return _read(str(written).strip())


@lru_cache(4096)  # asked of every table at every look at a day
def _read(text: str) -> Span | None:
    m = _DATED.fullmatch(text)
    try:
        return Span(date.fromisoformat(m[1]), date.fromisoformat(m[2] or m[1])) if m else None
    except ValueError:  # 2026-02-30
        return None


def nearness(written: object) -> int:
    """Return how much days are about one evening: 2 for a date, 1 from date to date, else 0."""
    span = dated(written)
    return 0 if span is None else 1 + (span.first == span.last)
