"""The quantities of a house file: pydantic types that read what a person writes.

Lengths are exact fractions of a metre; a number without a unit is in the file's own unit, which
is passed as the validation context.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Annotated, Any, NamedTuple

from pydantic import Field, ValidationInfo

from lumenmap.core import units
from lumenmap.core.errors import InputError
from lumenmap.core.names import NAME
from lumenmap.core.quantity import Quantity
from lumenmap.house.reading.slopes import read_slope

#: A longer length is a mistake (m).
LARGEST = 500


def unit_of(info: ValidationInfo) -> str:
    """Return the unit of the file's numbers without a unit."""
    return str((info.context or {}).get("unit", "m"))


def _length(value: Any, info: ValidationInfo) -> Fraction:
    if isinstance(value, Fraction):
        return value
    got = units.length(value, unit_of(info))
    if abs(got) > LARGEST:
        unit = unit_of(info)
        most = f"{float(LARGEST / units.LENGTH[unit]):,.0f} {unit}"
        raise InputError(f'is "{value}", over {most}, beyond any house; check the unit')
    return got


def _positive(value: Any, info: ValidationInfo) -> Fraction:
    got = _length(value, info)
    if got <= 0:
        raise InputError(f'is "{value}"; expected a length above 0')
    return got


def _natural(value: Any, info: ValidationInfo) -> Fraction:
    got = _length(value, info)
    if got < 0:
        raise InputError(f'is "{value}"; it can\'t be negative')
    return got


class Meets(NamedTuple):
    """A place on an edge: where it meets a mass, by the mass's name."""

    mass: str


def _place_on_edge(value: Any, info: ValidationInfo) -> Fraction | Meets:
    if isinstance(value, str) and value.strip().startswith("meets "):
        return Meets(value.strip().removeprefix("meets ").strip())
    return _natural(value, info)


def _celsius(value: Any, info: ValidationInfo) -> float:
    """Read a temperature; without a unit, °F in a house in feet or inches, otherwise °C."""
    bare = "F" if unit_of(info) in ("ft", "in") else "C"
    scales = {"C": Fraction(1), "F": Fraction(1)}
    number, unit = value, bare
    if isinstance(value, str):
        text = value.replace("°", " ").strip()
        if text[-1:] in ("F", "C"):
            number, unit = text[:-1].strip(), text[-1]
    got = units.quantity(number, scales, unit, what="temperature", like='"20 C" or "68 F"')
    celsius = float(got) if unit == "C" else (float(got) - 32) * 5 / 9
    if not -90 <= celsius <= 120:
        raise InputError(f'is "{value}"; no house is that cold or hot')
    return celsius


def _slope_signed(value: Any, _: ValidationInfo) -> float:
    """Read a leg's slope, which may fall, or be infinite: ``"-4/12"``, ``"up"``, ``"down"``."""
    if value in ("up", "down"):
        return math.inf if value == "up" else -math.inf
    if isinstance(value, str) and value.lstrip()[:1] in ("-", "−"):
        return -read_slope(value.lstrip()[1:].strip())
    return read_slope(value)


def _slope(value: Any, _: ValidationInfo) -> float:
    return read_slope(value)


def _angle(value: Any, _: ValidationInfo) -> float:
    return units.angle(value)


def _plain(unit: str, what: str, like: str) -> Quantity:
    return Quantity(what, like, lambda value, _: units.plain(value, unit, what=what))


_WRITTEN = '"12 ft 6 in", "2 3/8 in", "3.81 m"; a number without a unit is in [house] unit'
_FALL = 'rise over run, "8/12", or an angle, "33.7 deg"'
_MEETS = f'{_WRITTEN}; or where it meets a mass, "meets main"'
_DEGREES = (
    '"20 C", "68 F"; a number without a unit is Fahrenheit in a house of feet or inches, '
    "else Celsius"
)
Length = Annotated[Fraction, Quantity("length", _WRITTEN, _length), Field(description=_WRITTEN)]
Positive = Annotated[
    Fraction, Quantity("length over 0", _WRITTEN, _positive), Field(description=_WRITTEN)
]
Natural = Annotated[
    Fraction, Quantity("length, 0 or more", _WRITTEN, _natural), Field(description=_WRITTEN)
]
PlaceOnEdge = Annotated[
    Fraction | Meets,
    Quantity("place on an edge", _MEETS, _place_on_edge),
    Field(description=_MEETS),
]
Celsius = Annotated[float, Quantity("temperature", _DEGREES, _celsius), Field(description=_DEGREES)]
Slope = Annotated[float, Quantity("slope", _FALL, _slope, str)]
LegSlope = Annotated[
    float, Quantity("slope", f'{_FALL}; of a leg also "up" or "down"', _slope_signed, str)
]
Angle = Annotated[float, Quantity("angle", '"45 deg"; a number without a unit is degrees', _angle)]
Volts = Annotated[float, _plain("V", "voltage", '"12 V", or a number of volts'), Field(gt=0, le=60)]
Amps = Annotated[
    float, _plain("A", "current (A)", '"7.5 A", or a number of amperes'), Field(gt=0, le=1000)
]
Milliamps = Annotated[
    float,
    _plain("mA", "current (mA)", '"17.5 mA", or a number of milliamperes'),
    Field(ge=0, le=5000),
]
Name = Annotated[str, Field(min_length=1, max_length=80, pattern=NAME)]
Point = Annotated[
    tuple[Length, Length, Length],
    Field(strict=False),
    Quantity("point", "[x, y, z], three lengths: to the right, away from the street, up"),
]
