"""The Almanac: rules resolved, and what plays on a day, in UTC."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from itertools import pairwise
from pathlib import Path

from lumenmap.almanac.dated import nearness
from lumenmap.almanac.days import Days
from lumenmap.almanac.sun import Place
from lumenmap.almanac.times import TimeOfDay, span
from lumenmap.almanac.values import Count, Values

_DAY = timedelta(days=1)


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


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch of an evening.

    Attributes
    ----------
    start, stop
        UTC; ``stop`` is not part of it.
    begun
        When the rule began (UTC), which is when the show's first frame is due, even if this
        stretch starts later.
    day
        The date that the evening goes by. In a far north's June it begins after midnight.
    brightness
        0..1, dimming included.
    values
        For the show's own.
    """

    start: datetime
    stop: datetime
    begun: datetime
    day: date
    rule: str
    show: Path
    brightness: float
    values: Values = ()


@dataclass(frozen=True, slots=True)
class _Candidate:
    """A rule's stretch of time; of those that overlap, the highest rank plays."""

    rank: tuple[tuple[int, int], date, int]
    rule: Rule
    start: datetime
    stop: datetime


@dataclass(frozen=True, slots=True)
class Almanac:
    """The year's rules at a place.

    Attributes
    ----------
    dark, off
        Days on which no rule plays; and those of ``[[once]]`` tables without a show.
    elsewhere
        A note if the file of its house has it at another place; empty if not.
    """

    name: str
    file: Path
    place: Place
    house: Path | None
    rules: tuple[Rule, ...]
    dark: tuple[Days, ...]
    quiet: tuple[TimeOfDay, TimeOfDay] | None
    dims: tuple[Dim, ...]
    brightness: float
    off: tuple[Days, ...] = ()
    elsewhere: str = ""
    # An evening is asked for again and again, and of dozens of one-off days each is asked.
    _on: dict[date, list[Rule]] = field(default_factory=dict, init=False, repr=False, compare=False)

    def today(self, moment: datetime) -> date:
        """Return the local date of a moment."""
        return moment.astimezone(self.place.zone).date()

    def evening(self, day: date) -> tuple[list[Piece], list[str]]:
        """Return the pieces that begin on a local day, in order, and why the others don't play.

        Pieces don't overlap. One that begins on the day before belongs to that day; where both
        could play, the higher priority does, and the later rule among equals.
        """
        candidates: list[_Candidate] = []
        notes = []
        for when in (day - _DAY, day, day + _DAY):
            for order, rule in enumerate(self.rules_on(when)):
                got = span(rule.start, rule.stop, when, self.place)
                if not isinstance(got, str):
                    candidates.append(_Candidate((rule.priority, when, order), rule, *got))
                elif when == day:
                    notes.append(f"{rule.name}: {got}")
        levels = self._levels(day)
        notes += self._notes(day)
        edges = {e for w in candidates for e in (w.start, w.stop)}
        edges |= {e for start, stop, _ in levels for e in (start, stop)}
        pieces = []
        for start, stop in pairwise(sorted(edges)):
            here = [b for a, z, b in levels if a <= start < z]
            quiet = 0.0 in here
            playing = [
                w
                for w in candidates
                if w.start <= start < w.stop and (w.rule.in_quiet_hours or not quiet)
            ]
            if not playing:
                continue
            best = max(playing, key=lambda w: w.rank)
            if best.rank[1] == day:
                rule = best.rule
                dim = min((b for b in here if b), default=1.0)
                dimmed = rule.brightness * self.brightness * dim
                values = rule.values_on(day)
                stretch = start, stop, best.start, day
                pieces.append(Piece(*stretch, rule.name, rule.show, dimmed, values))
        return _joined(pieces), notes

    def hushed(self, day: date) -> list[tuple[Rule, datetime, datetime]]:
        """Return what quiet hours take from a one-off day: which rule, from when to when (UTC)."""
        quiet = [(a, z) for a, z, brightness in self._levels(day) if not brightness]
        found = []
        for rule in self.rules_on(day) if quiet else ():
            got = span(rule.start, rule.stop, day, self.place)
            if rule.priority[0] and not rule.in_quiet_hours and not isinstance(got, str):
                start, stop = got
                found += [
                    (rule, max(a, start), min(z, stop)) for a, z in quiet if a < stop and start < z
                ]
        return found

    def _notes(self, day: date) -> list[str]:
        """Say what of a one-off day isn't played, as the end of New Year's Eve."""
        zone = self.place.zone
        return [
            f"{rule.name}: {a.astimezone(zone):%H:%M} to {z.astimezone(zone):%H:%M} lies in the "
            "quiet hours; to play on, write in_quiet_hours = true"
            for rule, a, z in self.hushed(day)
        ]

    def rules_on(self, day: date) -> list[Rule]:
        """Return the rules that begin on a day; only one-off ones if there are any.

        Of those, a date comes before dates from one to another, and both before days of every year.
        """
        if day not in self._on:
            self._on[day] = self._rules_on(day)
        return self._on[day]

    def _rules_on(self, day: date) -> list[Rule]:
        once = [(nearness(r.on[0].text), r) for r in self.rules if r.priority[0] and r.applies(day)]
        off = [nearness(days.text) for days in self.off if day in days]
        if once or off:
            nearest = max([*off, *(near for near, _ in once)])
            return [rule for near, rule in once if near == nearest]
        if any(day in days for days in self.dark):
            return []
        return [r for r in self.rules if r.applies(day)]

    def _levels(self, day: date) -> list[tuple[datetime, datetime, float]]:
        """Return quiet hours (brightness 0) and dims around a local day."""
        quiet = [Dim(*self.quiet, 0.0)] if self.quiet else []
        found = []
        for dim in [*quiet, *self.dims]:
            for i in (-1, 0, 1):
                got = span(dim.start, dim.stop, day + i * _DAY, self.place)
                if not isinstance(got, str):
                    found.append((*got, dim.brightness))
        return found

    def at(self, moment: datetime) -> Piece | None:
        """Return what plays at a moment (UTC), or None."""
        today = self.today(moment)
        for day in (today - _DAY, today, today + _DAY):
            for piece in self.evening(day)[0]:
                if piece.start <= moment < piece.stop:
                    return piece
        return None

    def next(self, moment: datetime, *, days: int = 400) -> Piece | None:
        """Return the first piece that starts after a moment (UTC), within ``days`` days."""
        today = self.today(moment)
        for i in range(-1, days):
            for piece in self.evening(today + i * _DAY)[0]:
                if piece.start > moment:
                    return piece
        return None


def _joined(pieces: list[Piece]) -> list[Piece]:
    """Join stretches that a viewer sees as one."""
    out: list[Piece] = []
    for p in pieces:
        last = out[-1] if out else None
        if (
            last
            and last.stop == p.start
            and (
                (last.begun, last.rule, last.show, last.brightness, last.values)
                == (p.begun, p.rule, p.show, p.brightness, p.values)
            )
        ):
            out[-1] = replace(last, stop=p.stop)
        else:
            out.append(p)
    return out
