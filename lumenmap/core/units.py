"""Units at the edge: quantities from tape measures, meters and data sheets, read into SI.

Strategy: one small grammar. A quantity is one or more ``number unit`` terms; the numbers may be
whole, decimal, a fraction (``3/8``) or mixed (``2 3/8``). Lengths are exact `Fraction` metres,
since an inch is exactly 127/5000 m, so that holes can be laid out without rounding.
"""

from __future__ import annotations

import datetime
import math
import re
from collections.abc import Collection
from fractions import Fraction

from lumenmap.core.errors import InputError, near
from lumenmap.core.plain import shown

#: Exact by definition: the international inch is 25.4 mm (NIST SP 811, appendix B).
INCH = Fraction(127, 5000)

LENGTH: dict[str, Fraction] = {
    "m": Fraction(1),
    "cm": Fraction(1, 100),
    "mm": Fraction(1, 1000),
    "in": INCH,
    "ft": 12 * INCH,
    "yd": 36 * INCH,
}
_OF_FEET = ("in", "ft", "yd")
TIME: dict[str, Fraction] = {
    "s": Fraction(1),
    "ms": Fraction(1, 1000),
    "min": Fraction(60),
    "h": Fraction(3600),
}
_SPELLINGS = {
    '"': "in",
    "″": "in",
    "inch": "in",
    "inches": "in",
    "'": "ft",
    "′": "ft",
    "foot": "ft",
    "feet": "ft",
    "metre": "m",
    "metres": "m",
    "meter": "m",
    "meters": "m",
    "sec": "s",
    "second": "s",
    "seconds": "s",
    "minute": "min",
    "minutes": "min",
    "hour": "h",
    "hours": "h",
    "hr": "h",
    "degrees": "deg",
    "degree": "deg",
    "°": "deg",
    "percent": "%",
    "amp": "A",
    "amps": "A",
    "volt": "V",
    "volts": "V",
    "watts": "W",
    "hertz": "Hz",
}
_NUMBER = r"\d+\s+\d+\s*/\s*\d+|\d+\s*/\s*\d+|\d*\.?\d+(?:[eE][+-]?\d{1,3})?"
_TERM = re.compile(rf"\s*({_NUMBER})\s*([^\d\s.,;+-][^\d\s.,;+-]*)?\s*(?:,|and)?")
#: A time as clocks show it, which isn't how files write one.
_CLOCK = re.compile(r"\d{1,3}(?::\d{1,2}){1,2}", re.ASCII)
#: A longer string isn't a measurement; the bound also keeps the exact arithmetic small.
_LONGEST = 60


def _number(text: str) -> Fraction:
    parts = re.sub(r"\s*/\s*", "/", text).split()
    if any(re.search(r"/0+$", p) for p in parts):
        raise InputError(f'"{text}" divides by zero')
    return sum((Fraction(p) for p in parts), Fraction(0))


def _bare(value: float | int, what: str) -> Fraction:
    if isinstance(value, int) and abs(value) > 10**12:  # whole numbers may be too long for a float
        raise InputError(f"{what} has over 12 digits; no house is that large")
    if isinstance(value, bool) or not math.isfinite(value):
        raise InputError(f"{what} is {value}; expected a finite number")
    if abs(value) > 1e12:
        raise InputError(f"{what} is {value:g}; no house is that large")
    # A decimal in the file means that decimal: 2.4 is 12/5, not the nearest binary number.
    return Fraction(repr(value))


def quantity(
    value: str | float | int, units: dict[str, Fraction], bare: str, *, what: str, like: str
) -> Fraction:
    """Read a quantity exactly.

    Parameters
    ----------
    value
        A number, taken in the unit ``bare``; or a string of ``number unit`` terms that are added:
        ``"12 ft 6 in"``, ``"2 3/8 in"``, ``"-0.5 m"``.
    units
        Unit name to factor; the result is in the unit whose factor is 1.
    what, like
        The quantity's name, empty where the error's key says it, and an example, for the error.

    Raises
    ------
    InputError
        Not finite, not a number, or an unknown unit; suggests the nearest unit.
    """
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return _bare(value, what) * units[bare]
    if isinstance(value, datetime.time):  # 00:01:15 is one in TOML
        value = value.isoformat()
    if not isinstance(value, str):
        raise InputError(f"{what} is {shown(value)}; expected a number or a string such as {like}")
    text = value.strip()
    sign = -1 if text[:1] in "-−" and text else 1
    rest = text.lstrip("+-−")
    total, end = Fraction(0), 0
    used: list[str] = []
    if (m := _CLOCK.fullmatch(rest)) and "min" in units:
        raise InputError(f'{what} is "{text}"; {_by_clock(m)}')
    if len(text) > _LONGEST or len(text) - len(rest) > 1:
        raise InputError(f'{what} is "{text[:_LONGEST]}"; expected a quantity such as {like}')
    while end < len(rest) and (m := _TERM.match(rest, end)):
        name = m.group(2)
        unit = _SPELLINGS.get(name or bare, name or bare)
        if unit not in units:
            meant = _near_unit(str(name), units)
            if unit == "W" and "A" in units:
                meant = "; the current is the watts divided by the volts."
            raise InputError(
                f'{what} is "{text}": no unit "{name}"{f"{meant} Units" if meant else "; units"} '
                f"here: {', '.join(units)}"
            )
        if name is None and (used or m.end() < len(rest)):
            break  # "3 ft 4" might mean 4 in or 4 ft
        total += _number(m.group(1)) * units[unit]
        end, used = m.end(), [*used, unit]
    if not used or end < len(rest):
        if hint := _with_point(rest):
            raise InputError(f'{what} is "{text}"{hint}')
        raise InputError(f'{what} is "{text}"; expected a quantity such as {like}')
    if any(unit in _OF_FEET for unit in used) and not all(unit in _OF_FEET for unit in used):
        raise InputError(f'{what} mixes metres with feet or inches in "{text}"; write one of them')
    if abs(total) > 10**12:
        raise InputError(f'{what} is "{text}"; no house is that large')
    return sign * total


def _with_point(text: str) -> str:
    """Return how a number with a decimal comma is written, ``2,5 m``; else the empty string."""
    m = re.fullmatch(r"(\d+),(\d+)(\D*)", text)
    return f'; write "{m[1]}.{m[2]}{m[3]}", with a decimal point' if m else ""


def _by_clock(match: re.Match[str]) -> str:
    """Return how a time with colons is written: ``1:15`` is 1 min 15 s."""
    numbers = [int(part) for part in match[0].split(":")]
    if any(number > 59 for number in numbers[1:]):
        return 'expected a time such as "1 min 15 s"'
    parts = zip(numbers, ("h", "min", "s")[-len(numbers) :], strict=True)
    return f'write "{" ".join(f"{n} {unit}" for n, unit in parts if n) or "0 s"}"'


def _near_unit(name: str, units: Collection[str]) -> str:
    """Return the nearest name of a unit, or other spelling of one, as `near` does."""
    if name == "m" and "min" in units:
        return '; did you mean "min"?'
    words = [word for word, unit in _SPELLINGS.items() if unit in units and word.isalpha()]
    return near(name, units) or near(name, words)


def length(value: str | float | int, unit: str = "m", *, what: str = "length") -> Fraction:
    """Read a length in exact metres; a bare number is in ``unit``.

    >>> float(length("12 ft 6 in"))
    3.81
    """
    return quantity(value, LENGTH, unit, what=what, like='"12 ft 6 in", "2 3/8 in" or "3.81 m"')


def duration(value: str | float | int, *, what: str = "time") -> Fraction:
    """Read a time in exact seconds; a bare number is seconds."""
    return quantity(value, TIME, "s", what=what, like='"12 s", "1 min 30 s" or "250 ms"')


def speed(value: str | float | int, unit: str = "m", *, what: str = "speed") -> Fraction:
    """Read a speed in m/s: ``"4 ft/s"``, ``"1.2 m/s"``; a bare number is ``unit`` per second."""
    like = '"4 ft/s", "3 in/s" or "1.2 m/s"'
    if not isinstance(value, str) or re.fullmatch(rf"\s*[+−-]?\s*(?:{_NUMBER})\s*", value):
        return quantity(value, LENGTH, unit, what=what, like=like)
    head, _, per = value.rpartition("/")
    time = _SPELLINGS.get(per.strip(), per.strip())
    if time not in TIME or not re.search(r"\d", head):
        raise InputError(
            f'{what} is "{value[:_LONGEST]}"; expected a speed such as {like}: '
            f"{', '.join(LENGTH)} per {', '.join(TIME)}"
        )
    return quantity(head, LENGTH, unit, what=what, like=like) / TIME[time]


def share(value: str | float | int, *, what: str = "share") -> float:
    """Read a fraction, 0 to 1: ``0.8`` or ``"80 %"``."""
    number = value.strip().removesuffix("%") if isinstance(value, str) else value
    percent = isinstance(value, str) and value.strip().endswith("%")
    try:
        got = float(number)
    except (TypeError, ValueError, OverflowError):
        got = math.nan
    got = got / 100 if percent else got
    if isinstance(value, bool) or not 0 <= got <= 1:
        hint = f'; did you mean "{got:g} %"?' if not percent and 1 < got <= 100 else ""
        hint = hint or (_with_point(value.strip()) if isinstance(value, str) else "")
        raise InputError(f'{what} is {shown(value)}; expected 0 to 1, or "0 %" to "100 %"{hint}')
    return got


def angle(value: str | float | int, *, what: str = "angle") -> float:
    """Read an angle in radians; a bare number is degrees."""
    units = {"deg": Fraction(1), "turn": Fraction(360)}
    got = quantity(value, units, "deg", what=what, like='"90 deg"')
    return math.radians(float(got))


def plain(value: str | float | int, unit: str, *, what: str) -> float:
    """Read a number in one fixed unit (``A``, ``V``, ``W``, ``Hz``, ``mA``…), given or implied."""
    scale = {unit: Fraction(1)}
    if len(unit) <= 2 and not unit.startswith("m"):
        scale |= {f"m{unit}": Fraction(1, 1000)}
    if unit == "mA":
        scale |= {"A": Fraction(1000)}
    return float(quantity(value, scale, unit, what=what, like=f'"12 {unit}"' if unit else "12"))
