"""Kinds of option that an effect may have: their units, ranges, and how they are read.

An effect declares each option in its signature, `typing.Annotated` with one of these::

    speed: Annotated[float, Speed("how fast it runs", low=-90 * FT, high=90 * FT)] = 4 * FT

The signature is in SI; a show file gives any unit, or a bare number in the file's unit. The reading
of show files, ``--help``, the reference pages and the JSON Schema all come from this one place.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ClassVar

from lumenmap.core import units
from lumenmap.core.errors import InputError
from lumenmap.core.plain import shown
from lumenmap.motion.kind import Kind, short
from lumenmap.motion.reading import Reading, Written
from lumenmap.motion.word_options import Choice, Corner, Picture, Way, Word

__all__ = [
    "FT",
    "IN",
    "Angle",
    "Choice",
    "Corner",
    "Count",
    "Duration",
    "Kind",
    "Length",
    "Picture",
    "Rate",
    "Seed",
    "Share",
    "Speed",
    "Way",
    "Word",
]

#: Metres in a foot and in an inch, exact.
FT = 0.3048
IN = 0.0254


def _usual(metres: float, unit: str) -> str:
    return "in" if unit == "ft" and 0 < abs(metres) < 0.99 * FT else unit


def _measure(metres: float, unit: str) -> str:
    """Return a length in ``unit``, or in another unit if only there it is a round number."""
    usual = _usual(metres, unit)
    others = {"ft": ("in", "cm") if abs(metres) < 1 else ("m",), "m": (_usual(metres, "ft"),)}
    for name in (usual, *others.get(unit, ())):
        exact = metres / float(units.LENGTH[name])
        if math.isclose(float(f"{exact:.3g}"), exact, rel_tol=1e-9):
            return f"{short(exact)} {name}"
    return f"{short(metres / float(units.LENGTH[usual]))} {usual}"


def _round(metres: float, unit: str, way: Callable[[float], float] = round) -> float:
    """Return a length that is round in ``unit``: two digits, or as it is if it has few."""
    if not metres or math.isinf(metres):
        return metres
    usual = _usual(metres, unit)
    one = float(units.LENGTH[usual])
    exact = metres / one
    few = float(f"{round(exact, 2 if usual in ('m', 'ft') else 0):.3g}")
    if math.isclose(few, exact, rel_tol=1e-9):
        return metres
    step = 10.0 ** (math.floor(math.log10(abs(exact))) - 1)
    return float(f"{way(exact / step) * step:.6g}") * one


class _Measured(Kind):
    """What is measured in the house's unit."""

    def ends(self, unit: str = "m") -> tuple[float, float]:
        """Return the range with ends that are round in the unit."""
        return _round(self.low, unit, math.ceil), _round(self.high, unit, math.floor)

    def about(self, value: Any, unit: str = "m") -> Any:
        """Return it round in the unit: 1.2 m for 4 ft."""
        return _round(value, unit)


class Length(_Measured):
    """A length in metres: ``"6 in"``, ``"1.2 m"``."""

    def _parse(self, value: Written, reading: Reading) -> float:
        return reading.length(value)

    def text(self, value: Any, unit: str = "m") -> str:
        """Return it in the file's unit."""
        return _measure(value, unit)


class Speed(_Measured):
    """A speed in m/s: ``"4 ft/s"``, ``"8 ft/beat"``."""

    by_frames: ClassVar[bool] = False

    def _parse(self, value: Written, reading: Reading) -> float:
        return reading.speed(value)

    def text(self, value: Any, unit: str = "m") -> str:
        """Return it in the file's unit per second."""
        return f"{_measure(value, unit)}/s"


class Duration(Kind):
    """A time in seconds: ``"250 ms"``, ``"2 beats"``."""

    by_frames: ClassVar[bool] = False

    def _parse(self, value: Written, reading: Reading) -> float:
        return reading.duration(value)

    def text(self, value: Any, unit: str = "m") -> str:
        """Return it in seconds."""
        return f"{short(value)} s"


class Rate(Kind):
    """A rate in events per second: ``"2 /s"``, ``"12 /min"``, ``"0.5 Hz"``, ``"1 /beat"``."""

    by_frames: ClassVar[bool] = False

    def _parse(self, value: Written, reading: Reading) -> float:
        return reading.rate(value)

    def text(self, value: Any, unit: str = "m") -> str:
        """Return it per second, or per minute if slow."""
        return f"{short(value)} /s" if value >= 0.1 or value == 0 else f"{short(value * 60)} /min"


@dataclass(frozen=True, slots=True)
class Share(Kind):
    """A fraction, 0 to 1: ``0.3`` or ``"30 %"``."""

    low: float = 0.0
    high: float = 1.0

    def _parse(self, value: Written, reading: Reading) -> float:
        if isinstance(value, str) and value.strip().endswith("%"):
            return units.plain(value.strip()[:-1], "", what="") / 100
        return units.plain(value, "", what="")


class Angle(Kind):
    """An angle in radians: ``"45 deg"``; a bare number is degrees."""

    def _parse(self, value: Written, reading: Reading) -> float:
        return units.angle(value, what="")

    def text(self, value: Any, unit: str = "m") -> str:
        """Return it in degrees."""
        return f"{short(math.degrees(value))} deg"


class Count(Kind):
    """A whole number."""

    by_frames: ClassVar[bool] = False
    gradual: ClassVar[bool] = False

    def _parse(self, value: Written, reading: Reading) -> float:
        if not isinstance(value, int):
            raise InputError(f"is {shown(value)}; expected a whole number, {self.expected()}")
        return value

    def text(self, value: Any, unit: str = "m") -> str:
        """Return all its digits."""
        return f"{value:.0f}"

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema: a whole number in the range."""
        ends = {"minimum": self.low, "maximum": self.high}
        return {"type": "integer", **{k: int(v) for k, v in ends.items() if math.isfinite(v)}}


@dataclass(frozen=True, slots=True)
class Seed(Count):
    """The seed of the random choices; taken from the show and the layer if left out."""

    low: float = 0
    high: float = 2**32 - 1
