"""Kinds of option that an effect may have: what it is, its unit, its range, and how it is read.

An effect declares each option in its signature, `typing.Annotated` with one of these::

    speed: Annotated[float, Speed("how fast it runs", low=-90 * FT, high=90 * FT)] = 4 * FT

The signature is in SI; people write the unit they like, or a bare number in their file's unit.
Show files, ``--help``, the README's table and the JSON Schema are all made from this one place.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from lumenmap.core import units
from lumenmap.core.errors import InputError, unknown
from lumenmap.motion import raster, ways
from lumenmap.motion.at import At
from lumenmap.motion.reading import Reading, Written

#: Metres in a foot and in an inch, exact.
FT = 0.3048
IN = 0.0254


@dataclass(frozen=True, slots=True)
class Kind:
    """A number; the base of the others.

    Parameters
    ----------
    help
        One line: what it does to the light.
    low, high
        The range, in SI.
    unset
        What leaving it out means, if its default is None.
    """

    help: str = ""
    low: float = -math.inf
    high: float = math.inf
    unset: str = ""

    def read(self, value: object, reading: Reading) -> Any:
        """Return what a person wrote in SI.

        Raises
        ------
        InputError
            Not of this kind, or out of range; says the range as people write it.
        """
        if isinstance(value, bool) or not isinstance(value, (str, int, float)):
            raise InputError(f"is {value!r:.60}; wanted {self.wanted(reading.unit)}")
        got = self._parse(value, reading)
        if not self.holds(got):
            raise InputError(f"is {value!s:.60}; wanted {self.wanted(reading.unit)}")
        return min(max(got, self.low), self.high)

    def holds(self, value: Any) -> bool:
        """Say whether a value, in SI, is in the range."""
        # A range's end that is typed as people write it may miss by the last bit.
        slack = 1e-9 * max((abs(v) for v in (self.low, self.high) if math.isfinite(v)), default=0)
        return bool(self.low - slack <= value <= self.high + slack)

    def wanted(self, unit: str = "m") -> str:
        """Say what may be written, in people's units: ``0.5 ft/s to 90 ft/s``."""
        if math.isinf(self.low) and math.isinf(self.high):
            return f"a {type(self).__name__.lower()}"
        if math.isinf(self.high):
            return f"{self.text(self.low, unit)} or more"
        return f"{self.text(self.low, unit)} to {self.text(self.high, unit)}"

    def text(self, value: Any, unit: str = "m") -> str:
        """Write a value for people, so that `read` takes it back."""
        return _short(value)

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of what a file may hold."""
        return {"type": ["number", "string"]}

    def settle(self, value: Any, at: At) -> None:
        """Check a value against the house it is used on.

        Raises
        ------
        InputError
            It names a corner that the house does not have.
        """

    def _parse(self, value: Written, reading: Reading) -> float:
        return units.plain(value, "", what="it")


def _short(value: float) -> str:
    return f"{value:.4g}"


def _measure(metres: float, unit: str) -> str:
    """Write a length in ``unit``, or in its author's where only that is a round number."""
    usual = "in" if unit == "ft" and 0 < abs(metres) < 0.99 * FT else unit
    others = ("in", "cm") if unit == "ft" and abs(metres) < 1 else ("m",) if unit == "ft" else ()
    for shown in (usual, *others):
        exact = metres / float(units.LENGTH[shown])
        if math.isclose(float(f"{exact:.3g}"), exact, rel_tol=1e-9):
            return f"{_short(exact)} {shown}"
    return f"{_short(metres / float(units.LENGTH[usual]))} {usual}"


class Length(Kind):
    """A length in metres: ``"6 in"``, ``"1.2 m"``."""

    def _parse(self, value: Written, reading: Reading) -> float:
        return reading.length(value)

    def text(self, value: Any, unit: str = "m") -> str:
        """Write it in the file's unit."""
        return _measure(value, unit)


class Speed(Kind):
    """A speed in m/s: ``"4 ft/s"``, ``"8 ft/beat"``."""

    def _parse(self, value: Written, reading: Reading) -> float:
        return reading.speed(value)

    def text(self, value: Any, unit: str = "m") -> str:
        """Write it in the file's unit per second."""
        return f"{_measure(value, unit)}/s"


class Duration(Kind):
    """A time in seconds: ``"250 ms"``, ``"2 beats"``."""

    def _parse(self, value: Written, reading: Reading) -> float:
        return reading.duration(value)

    def text(self, value: Any, unit: str = "m") -> str:
        """Write it in seconds."""
        return f"{_short(value)} s"


class Rate(Kind):
    """How often, in events per second: ``"2 /s"``, ``"12 /min"``, ``"0.5 Hz"``, ``"1 /beat"``."""

    def _parse(self, value: Written, reading: Reading) -> float:
        return reading.rate(value)

    def text(self, value: Any, unit: str = "m") -> str:
        """Write it per second, or per minute when slow."""
        return f"{_short(value)} /s" if value >= 0.1 or value == 0 else f"{_short(value * 60)} /min"


@dataclass(frozen=True, slots=True)
class Share(Kind):
    """A part of the whole, 0 to 1: ``0.3`` or ``"30 %"``."""

    low: float = 0.0
    high: float = 1.0

    def _parse(self, value: Written, reading: Reading) -> float:
        if isinstance(value, str) and value.strip().endswith("%"):
            return units.plain(value.strip()[:-1], "", what="it") / 100
        return units.plain(value, "", what="it")


class Angle(Kind):
    """An angle in radians: ``"45 deg"``; a bare number is degrees."""

    def _parse(self, value: Written, reading: Reading) -> float:
        return units.angle(value, what="it")

    def text(self, value: Any, unit: str = "m") -> str:
        """Write it in degrees."""
        return f"{_short(math.degrees(value))} deg"


class Count(Kind):
    """A whole number."""

    def _parse(self, value: Written, reading: Reading) -> float:
        if not isinstance(value, int):
            raise InputError(f"is {value!r:.60}; wanted a whole number, {self.wanted()}")
        return value

    def text(self, value: Any, unit: str = "m") -> str:
        """Write all its digits."""
        return f"{value:.0f}"

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema: a whole number in the range."""
        ends = {"minimum": self.low, "maximum": self.high}
        return {"type": "integer", **{k: int(v) for k, v in ends.items() if math.isfinite(v)}}


@dataclass(frozen=True, slots=True)
class Seed(Count):
    """Which of the possible random choices; filled from the show and the layer unless given."""

    low: float = 0
    high: float = 2**32 - 1


@dataclass(frozen=True, slots=True)
class Word(Kind):
    """The base of options that are no numbers."""

    def read(self, value: object, reading: Reading) -> Any:
        """Return the word.

        Raises
        ------
        InputError
            No text, or not one of the words; says the nearest.
        """
        if not isinstance(value, str) or not 0 < len(value) < 200:
            raise InputError(f"is {value!r:.60}; wanted {self.wanted(reading.unit)}")
        return self._find(value, reading)

    def holds(self, value: Any) -> bool:
        """Say whether a value is a word that may be written."""
        return isinstance(value, str)

    def text(self, value: Any, unit: str = "m") -> str:
        """Return the word itself."""
        return str(value)

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema: a text."""
        return {"type": "string"}

    def _find(self, value: str, reading: Reading) -> Any:
        return value


@dataclass(frozen=True, slots=True)
class Choice(Word):
    """One word of ``names``."""

    names: tuple[str, ...] = ()

    def wanted(self, unit: str = "m") -> str:
        """List the words."""
        return ", ".join(self.names)

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema: one of the words."""
        return {"enum": list(self.names)}

    def holds(self, value: Any) -> bool:
        """Say whether it is one of the words."""
        return value in self.names

    def _find(self, value: str, reading: Reading) -> str:
        if value not in self.names:
            raise InputError(unknown("choice", value, self.names))
        return value


class Way(Word):
    """What distance the effect runs along; see `lumenmap.motion.ways`."""

    def wanted(self, unit: str = "m") -> str:
        """List the ways."""
        return ", ".join([*ways.WAYS, "from CORNER"])

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema: one of the ways, or a corner to start from."""
        return {"anyOf": [{"enum": list(ways.WAYS)}, {"type": "string", "pattern": "^from .+"}]}

    def _find(self, value: str, reading: Reading) -> str:
        return ways.check(value)

    def settle(self, value: Any, at: At) -> None:
        """Ask the house for the corner that the way starts from."""
        if value not in ways.WAYS:
            ways.point(at, value.removeprefix("from "))


class Corner(Word):
    """A named corner of the house, or a place that any house has; see `ways.point`."""

    def settle(self, value: Any, at: At) -> None:
        """Ask the house for the corner."""
        ways.point(at, value)

    def wanted(self, unit: str = "m") -> str:
        """List the places of any house."""
        return f"a corner of the house, or {', '.join(ways.PLACES)}"


class Picture(Word):
    """A picture or an animated one, in the show's folder; read to a `raster.Raster`."""

    def wanted(self, unit: str = "m") -> str:
        """Say what is read."""
        return "a picture file in the show's folder (PNG, JPEG, GIF, WebP)"

    def _find(self, value: str, reading: Reading) -> raster.Raster:
        return raster.load(value, reading.folder)
