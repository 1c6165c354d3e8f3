"""How one file's quantities are read: its unit, its tempo, its folder."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

from lumenmap.core import units
from lumenmap.core.errors import InputError

Written = str | float | int


class Reading(NamedTuple):
    """The context of a file's quantities.

    Attributes
    ----------
    unit
        The length unit of a bare number.
    beat
        Length of a beat in s, if the show has a tempo: times, speeds and rates may then be in
        beats and bars.
    bar
        Beats in a bar.
    folder
        The folder of the files that options name; None if they may not name any.
    """

    unit: str = "m"
    beat: Fraction | None = None
    bar: int = 4
    folder: Path | None = None

    def length(self, value: Written) -> float:
        """Read a length (m)."""
        return float(units.length(value, self.unit, what=""))

    def duration(self, value: Written) -> float:
        """Read a time (s): ``"250 ms"``, ``"2 beats"``."""
        return float(self.exact_duration(value))

    def exact_duration(self, value: Written) -> Fraction:
        """Read a time in exact seconds."""
        self._needs_tempo(value)
        like = '"12 s", "250 ms" or "2 beats"'
        if isinstance(value, str) and value.strip().lower().startswith(("bar", "beat")):
            said = 'expected a time such as "2 beats"; a cue may start at "bar 3" or "beat 17"'
            raise InputError(f'is "{value[:40]}"; {said}')
        return units.quantity(value, self._times(), "s", what="time", like=like)

    def beats_and_seconds(self, value: Written) -> tuple[float, float]:
        """Read a time as so many beats and so many seconds, which are added."""
        self._needs_tempo(value)
        ones = self._counted(Fraction(1))
        beats = {**dict.fromkeys(units.TIME, Fraction(0)), **ones}
        seconds = {**units.TIME, **dict.fromkeys(ones, Fraction(0))}
        like = '"2 beats" or "1 bar"'
        found = [units.quantity(value, s, "s", what="time", like=like) for s in (beats, seconds)]
        return float(found[0]), float(found[1])

    def speed(self, value: Written) -> float:
        """Read a speed (m/s): ``"4 ft/s"``, ``"8 ft/beat"``."""
        self._needs_tempo(value)
        if isinstance(value, str) and "/" in value:
            head, _, per = value.rpartition("/")
            if self.beat and (one := self._counted(self.beat).get(per.strip())):
                return self.length(head) / float(one)
        return float(units.speed(value, self.unit, what=""))

    def rate(self, value: Written) -> float:
        """Read a rate (events/s): ``"12 /min"``, ``"0.5 Hz"``, ``"1 /beat"``."""
        self._needs_tempo(value)
        if isinstance(value, str) and "/" in value:
            head, _, per = value.rpartition("/")
            like = '"2 /s", "12 /min" or "0.5 Hz"'
            count = units.quantity(head, {"": Fraction(1)}, "", what="", like=like)
            per = per.strip() if per.strip()[:1].isdigit() else f"1 {per}"
            return float(count / units.quantity(per, self._times(), "", what="", like=like))
        return units.plain(value, "Hz", what="")

    def _times(self) -> dict[str, Fraction]:
        return units.TIME if self.beat is None else {**units.TIME, **self._counted(self.beat)}

    def _counted(self, beat: Fraction) -> dict[str, Fraction]:
        bar = beat * self.bar
        return {"beat": beat, "beats": beat, "bar": bar, "bars": bar}

    def _needs_tempo(self, value: Written) -> None:
        if self.beat is None and isinstance(value, str) and ("beat" in value or "bar" in value):
            raise InputError(f'is "{value[:40]}", but the show has no tempo; write tempo = 120')
