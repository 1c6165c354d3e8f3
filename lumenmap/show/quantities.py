"""Quantities of a show file: times, lengths, levels and ramps of them, colours, ways, easings."""

from __future__ import annotations

from fractions import Fraction
from typing import Annotated, Any

from pydantic import Field, ValidationInfo

from lumenmap.core.errors import InputError
from lumenmap.core.plain import shown
from lumenmap.core.quantity import Quantity
from lumenmap.core.units import share
from lumenmap.motion.easing import Easing, easing
from lumenmap.motion.options import Duration, Share, Way
from lumenmap.motion.ramp import Ramp
from lumenmap.motion.ramp_reading import RampTable, read_ramp
from lumenmap.motion.reading import Reading
from lumenmap.routes.route import Route


def _seconds(value: Any, info: ValidationInfo) -> Fraction:
    if isinstance(value, Fraction):
        return value
    got = reading_of(info).exact_duration(value)
    if got < 0:
        raise InputError(f'time is "{value}"; it can\'t be negative')
    return got


def reading_of(info: ValidationInfo) -> Reading:
    """Return how this file's quantities are read."""
    found = (info.context or {}).get("reading", Reading())
    assert isinstance(found, Reading)
    return found


def _length(value: Any, info: ValidationInfo) -> float:
    return reading_of(info).length(value)


def _level(value: Any, info: ValidationInfo) -> float | Ramp:
    if isinstance(value, dict):
        return read_ramp(Share(), value, reading_of(info))
    return share(value, what="")


def _envelope(value: Any, info: ValidationInfo) -> Ramp:
    if not isinstance(value, dict):
        raise InputError(f'is {shown(value)}; expected {{ at = ["0 s", "1 s"], to = [0, 1] }}')
    if "level" in value and "to" not in value:  # its name until 0.1.0
        value = {("to" if key == "level" else key): v for key, v in value.items()}
    return read_ramp(Share(), value, reading_of(info))


def _every(value: Any, info: ValidationInfo) -> float | Ramp:
    kind = Duration(low=0.02, high=86_400)
    if isinstance(value, dict):
        return read_ramp(kind, value, reading_of(info))
    return float(kind.read(value, reading_of(info)))


def _way(value: Any, info: ValidationInfo) -> str | Route:
    found: str | Route = Way().read(value, reading_of(info))
    return found


def _easing(value: Any, _: ValidationInfo) -> Easing:
    if not isinstance(value, str):
        raise InputError(f'is {shown(value)}; expected an easing such as "ease-in-out"')
    return easing(value)


Seconds = Annotated[
    Fraction,
    Quantity(
        "time",
        '"12 s", "250 ms", or "2 beats" with a tempo; a number without a unit is seconds',
        _seconds,
    ),
    Field(description='A time: "12 s", "250 ms", "2 beats"; a bare number is seconds.'),
]
Metres = Annotated[
    float,
    Quantity(
        "length",
        '"12 ft 6 in", "3.81 m"; a number without a unit is in that of the house',
        _length,
    ),
]
_RAMP = '{ from = 0, to = 1, over = "10 s" }, or { at = ["0 s", "10 s"], to = [0, 1] }'
#: A share that may be a ramp.
Level = Annotated[
    float | Ramp,
    Quantity(
        "share, 0 to 1, or a ramp",
        f'0.3, "30 %", or a ramp: {_RAMP}',
        _level,
        Annotated[float, Field(ge=0, le=1)] | str | RampTable,
    ),
]
Envelope = Annotated[Ramp, Quantity("ramp", _RAMP, _envelope, RampTable)]
Every = Annotated[
    float | Ramp,
    Quantity(
        "time, or a ramp",
        '"2 beats", or a ramp: { from = "2 s", to = "0.5 s", over = "30 s" }',
        _every,
        float | str | RampTable,
    ),
]
WayName = Annotated[
    str | Route,
    Quantity("way", "a way of the effects: see lumenmap help effects", _way, str | list[str]),
]
Eased = Annotated[
    Easing,
    Quantity("easing", "as in CSS Easing Functions: the names below", _easing, str),
    Field(
        validate_default=True,
        description='As in CSS Easing Functions: "ease-in-out", "steps(4)", …',
    ),
]
Span = Annotated[list[Metres], Field(min_length=2, max_length=2)]


def _colours(value: Any, _: ValidationInfo) -> str | list[str]:
    if isinstance(value, str):
        return value
    if isinstance(value, list) and value and all(isinstance(v, str) for v in value):
        return value
    raise InputError(
        f"is {shown(value)}; expected a palette's name, a colour, or a list of colours"
    )


Colours = Annotated[
    str | list[str],
    Quantity(
        "palette",
        'a name, a colour such as "gold", or a list such as ["gold", "white"]',
        _colours,
        str | list[str],
    ),
]
