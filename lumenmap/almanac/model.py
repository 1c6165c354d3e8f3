"""The Almanac: rules resolved, and what plays on a day, in UTC."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from itertools import pairwise
from pathlib import Path

from lumenmap.almanac.dated import nearness
from lumenmap.almanac.days import Days
from lumenmap.almanac.rules import Dim, Rule
from lumenmap.almanac.sun import Place
from lumenmap.almanac.times import TimeOfDay, span, wall_clocks
from lumenmap.almanac.values import Values

_DAY = timedelta(days=1)


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


#: From when to when, how bright all light may be, which rule is due, and which plays: another one,
#: or none, in quiet hours.
_Stretch = tuple[datetime, datetime, list[float], _Candidate | None, _Candidate | None]


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
        spans = ((r.name, span(r.start, r.stop, day, self.place)) for r in self.rules_on(day))
        notes = [f"{name}: {why}" for name, why in spans if isinstance(why, str)]
        pieces, stretches = [], list(self._stretches(day))
        for start, stop, levels, _, playing in stretches:
            if playing is not None and playing.rank[1] == day:
                rule = playing.rule
                dim = min((level for level in levels if level), default=1.0)
                dimmed = rule.brightness * self.brightness * dim
                values = rule.values_on(day)
                stretch = start, stop, playing.start, day
                pieces.append(Piece(*stretch, rule.name, rule.show, dimmed, values))
        return _joined(pieces), notes + self._notes(day, stretches)

    def _stretches(self, day: date) -> Iterator[_Stretch]:
        """Divide the time around a local day, so that in each stretch nothing changes."""
        candidates: list[_Candidate] = []
        for when in (day - _DAY, day, day + _DAY):
            for order, rule in enumerate(self.rules_on(when)):
                got = span(rule.start, rule.stop, when, self.place)
                if not isinstance(got, str):
                    candidates.append(_Candidate((rule.priority, when, order), rule, *got))
        levels = self._levels(day)
        edges = {e for w in candidates for e in (w.start, w.stop)}
        edges |= {e for start, stop, _ in levels for e in (start, stop)}
        for start, stop in pairwise(sorted(edges)):
            here = [b for a, z, b in levels if a <= start < z]
            due = [w for w in candidates if w.start <= start < w.stop]
            playing = [w for w in due if w.rule.in_quiet_hours or 0.0 not in here]
            yield start, stop, here, _first(due), _first(playing)

    def hushed(self, day: date) -> list[tuple[Rule, datetime, datetime]]:
        """Return what quiet hours take from a one-off day: which rule, from when to when (UTC)."""
        return [found for found in _hushed(self._stretches(day), day) if found[0].once]

    def _notes(self, day: date, stretches: Iterable[_Stretch]) -> list[str]:
        """Say what of a special day isn't played, as the end of New Year's Eve."""
        notes = []
        for rule, start, stop in _hushed(stretches, day):
            if rule.once or rule.seldom(day.year):
                begin, end = wall_clocks(start, stop, self.place.zone)
                notes.append(
                    f"{rule.name}: {begin} to {end} lies in the quiet hours; to play on, write "
                    "in_quiet_hours = true"
                )
        return notes

    def rules_on(self, day: date) -> list[Rule]:
        """Return the rules that begin on a day; only one-off ones if there are any.

        Of those, a date comes before dates from one to another, and both before days of every year.
        """
        if day not in self._on:
            self._on[day] = self._rules_on(day)
        return self._on[day]

    def _rules_on(self, day: date) -> list[Rule]:
        once = [(nearness(r.on[0].text), r) for r in self.rules if r.once and r.applies(day)]
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


def _first(candidates: Iterable[_Candidate]) -> _Candidate | None:
    return max(candidates, key=lambda w: w.rank, default=None)


def _hushed(stretches: Iterable[_Stretch], day: date) -> list[tuple[Rule, datetime, datetime]]:
    """Return when rules of a day are due, and nothing plays, for the hours are quiet."""
    found: list[tuple[Rule, datetime, datetime]] = []
    for start, stop, _, due, playing in stretches:
        if due is not None and playing is None and due.rank[1] == day:
            goes_on = found and found[-1][0] is due.rule and found[-1][2] == start
            begun = found.pop()[1] if goes_on else start
            found.append((due.rule, begun, stop))
    return found


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
