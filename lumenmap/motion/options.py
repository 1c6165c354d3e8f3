"""Kinds of option that an effect may have: what it is, its unit, its range, and how it is read.

An effect declares each option in its signature, `typing.Annotated` with one of these::

    speed: Annotated[float, Speed("how fast it runs", low=-30, high=30)] = 1.2

The signature is in SI; people write the unit they like, or a bare number in their house's unit.
Show files, ``--help``, the README's table and the JSON Schema are all made from this one place.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from lumenmap.core import units
from lumenmap.core.errors import InputError, unknown


@dataclass(frozen=True, slots=True)
class Kind:
    """A number; the base of the others.

    Parameters
    ----------
    help
        One line: what it does to the picture.
    low, high
        The range, in SI.
    unset
        What leaving it out means, if its default is None.
    """

    help: str
    low: float = -math.inf
    high: float = math.inf
    unset: str = ""

    def read(self, value: object, unit: str = "m") -> Any:
        """Return the value in SI.

        Parameters
        ----------
        value
            What the person wrote.
        unit
            The length unit of a bare number.

        Raises
        ------
        InputError
            Not of this kind, or out of range; says the range as people write it.
        """
        if isinstance(value, bool) or not isinstance(value, (str, int, float)):
            raise InputError(f"is {value!r:.60}; wanted {self.wanted(unit)}")
        got = self._parse(value, unit)
        # A range's end that is typed as people write it may miss by the last bit.
        slack = 1e-9 * max(abs(self.low), abs(self.high)) if math.isfinite(self.high) else 0.0
        if not self.low - slack <= got <= self.high + slack:
            raise InputError(f"is {value!s:.60}; wanted {self.wanted(unit)}")
        return min(max(got, self.low), self.high)

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
        return {"type": ["number", "string"], "description": self.help}

    def _parse(self, value: str | float | int, unit: str) -> float:
        return units.plain(value, "", what="it")


def _short(value: float) -> str:
    return f"{value:.4g}"


class Length(Kind):
    """A length in metres: ``"6 in"``, ``"1.2 m"``."""

    def _parse(self, value: str | float | int, unit: str) -> float:
        return float(units.length(value, unit, what="it"))

    def text(self, value: Any, unit: str = "m") -> str:
        """Write it in the house's unit."""
        shown = "in" if unit == "ft" and abs(value) < 0.3 else unit
        return f"{_short(value / float(units.LENGTH[shown]))} {shown}"


class Speed(Kind):
    """A speed in m/s: ``"4 ft/s"``."""

    def _parse(self, value: str | float | int, unit: str) -> float:
        return float(units.speed(value, unit, what="it"))

    def text(self, value: Any, unit: str = "m") -> str:
        """Write it in the house's unit per second."""
        return f"{_short(value / float(units.LENGTH[unit]))} {unit}/s"


class Duration(Kind):
    """A time in seconds: ``"250 ms"``."""

    def _parse(self, value: str | float | int, unit: str) -> float:
        return float(units.duration(value, what="it"))

    def text(self, value: Any, unit: str = "m") -> str:
        """Write it in seconds."""
        return f"{_short(value)} s"


class Rate(Kind):
    """How often, in events per second: ``"2 /s"``, ``"12 /min"``, ``"0.5 Hz"``."""

    def _parse(self, value: str | float | int, unit: str) -> float:
        if isinstance(value, str) and "/" in value:
            head, _, per = value.rpartition("/")
            return units.plain(head, "", what="it") / float(units.duration(f"1 {per}", what="it"))
        return units.plain(value, "Hz", what="it")

    def text(self, value: Any, unit: str = "m") -> str:
        """Write it per second, or per minute when slow."""
        return f"{_short(value)} /s" if value >= 0.1 or value == 0 else f"{_short(value * 60)} /min"


@dataclass(frozen=True, slots=True)
class Share(Kind):
    """A part of the whole, 0 to 1: ``0.3`` or ``"30 %"``."""

    low: float = 0.0
    high: float = 1.0

    def _parse(self, value: str | float | int, unit: str) -> float:
        if isinstance(value, str) and value.strip().endswith("%"):
            return units.plain(value.strip()[:-1], "", what="it") / 100
        return units.plain(value, "", what="it")


class Angle(Kind):
    """An angle in radians: ``"45 deg"``; a bare number is degrees."""

    def _parse(self, value: str | float | int, unit: str) -> float:
        return units.angle(value, what="it")

    def text(self, value: Any, unit: str = "m") -> str:
        """Write it in degrees."""
        return f"{_short(math.degrees(value))} deg"


class Count(Kind):
    """A whole number."""

    def _parse(self, value: str | float | int, unit: str) -> float:
        if not isinstance(value, int):
            raise InputError(f"is {value!r:.60}; wanted a whole number, {self.wanted(unit)}")
        return value

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema: a whole number in the range."""
        out: dict[str, Any] = {"type": "integer", "description": self.help}
        if math.isfinite(self.low):
            out["minimum"] = int(self.low)
        if math.isfinite(self.high):
            out["maximum"] = int(self.high)
        return out


@dataclass(frozen=True, slots=True)
class Seed(Count):
    """Which of the possible random choices; filled from the show and the layer unless given."""

    low: float = 0
    high: float = 2**31 - 1


@dataclass(frozen=True, slots=True)
class Choice(Kind):
    """One word of ``names``."""

    names: tuple[str, ...] = ()

    def read(self, value: object, unit: str = "m") -> str:
        """Return the word.

        Raises
        ------
        InputError
            Not one of the names; says the nearest.
        """
        if not isinstance(value, str) or value not in self.names:
            raise InputError(unknown("choice", str(value), self.names))
        return value

    def wanted(self, unit: str = "m") -> str:
        """List the words."""
        return ", ".join(self.names)

    def text(self, value: Any, unit: str = "m") -> str:
        """Return the word itself."""
        return str(value)

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema: one of the words."""
        return {"enum": list(self.names), "description": self.help}


class Way(Kind):
    """What distance the effect runs along; see `lumenmap.motion.ways`."""

    def read(self, value: object, unit: str = "m") -> str:
        """Return the way's name; ``from CORNER`` is checked against the house when it is used.

        Raises
        ------
        InputError
            No such way; says the nearest.
        """
        from lumenmap.motion import ways

        return ways.check(value)

    def wanted(self, unit: str = "m") -> str:
        """List the ways."""
        from lumenmap.motion import ways

        return ", ".join([*ways.WAYS, "from CORNER"])

    def text(self, value: Any, unit: str = "m") -> str:
        """Return the way's name."""
        return str(value)

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema: one of the ways, or a corner to start from."""
        from lumenmap.motion import ways

        return {
            "anyOf": [{"enum": list(ways.WAYS)}, {"type": "string", "pattern": "^from .+"}],
            "description": self.help,
        }
