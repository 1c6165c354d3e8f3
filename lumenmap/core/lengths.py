"""Lengths for people to read: on a tape measure, in metres, as a place along a line."""

from __future__ import annotations

import math
import re
from fractions import Fraction

from lumenmap.core.units import INCH, LENGTH

#: Lengths that people write have no larger denominator, in metres: 1/16 in is 127/80000 m.
_FINEST = 80_000
#: A float that is this near to such a length is that length (m).
_ROUNDING = 1e-9


def feet_inches(metres: Fraction | float, *, parts: int = 16) -> str:
    """Return a length as a tape measure shows it, to the nearest 1/``parts`` inch.

    >>> feet_inches(3.8195)
    '12 ft 6 3/8 in'
    """
    exact = Fraction(metres) / INCH
    steps = round(abs(exact) * parts)
    feet, rest = divmod(steps, 12 * parts)
    inches, frac = divmod(rest, parts)
    words = [f"{feet} ft"] if feet else []
    if inches or frac or not feet:
        whole = [str(inches)] if inches or not frac else []
        part = [str(Fraction(frac, parts))] if frac else []
        words.append(" ".join([*whole, *part]) + " in")
    return ("-" if exact < 0 and steps else "") + " ".join(words)


def show_length(metres: Fraction | float, unit: str) -> str:
    """Return a length in the house's unit: feet and inches, or metres; a short one in mm.

    >>> show_length(3.81, "ft"), show_length(3.81, "m"), show_length(0.018, "m")
    ('12 ft 6 in', '3.81 m', '18 mm')
    """
    if unit in ("ft", "in"):
        return feet_inches(metres)
    if unit != "m":
        own = float(metres / LENGTH[unit])
        return f"{round(own, int(unit == 'cm' or abs(own) < 10)):g} {unit}"
    mm = 1000 * float(metres)
    if 0.05 <= abs(mm) < 99.5:
        return f"{round(mm, int(abs(mm) < 10)):g} mm"
    text = f"{float(metres):.3f}".rstrip("0").rstrip(".")
    return f"{'0' if text == '-0' else text} m"


def show_written(metres: Fraction | float, unit: str) -> str:
    """Return a length that somebody gave, in the system of units in which they gave it.

    Whole millimetres were written in metric units, and other whole sixteenths of an inch in feet
    and inches; what is both, or neither, is shown in the house's unit.

    >>> show_written(0.1524, "m"), show_written(0.06, "ft"), show_written(0.15, "m")
    ('6 in', '60 mm', '0.15 m')
    """
    metric, feet = _systems(metres)
    if metric == feet or metric == (unit not in ("ft", "in")):
        return show_length(metres, unit)
    return show_length(metres, "m" if metric else "ft")


def show_fine(metres: Fraction | float, unit: str) -> str:
    """Return a length as `show_written`, finer than a tape shows it: how far holes are apart.

    >>> show_fine(0.0999, "ft"), show_fine(0.1016, "ft"), show_fine(0.0598, "m")
    ('3.93 in', '4 in', '59.8 mm')
    """
    metric, feet = _systems(metres)
    if metric != feet and feet == (unit not in ("ft", "in")):
        unit = "m" if metric else "ft"
    if unit in ("ft", "in"):
        return f"{round(float(metres / INCH), 2):g} in"
    return f"{round(1000 * float(metres), 1):g} mm"


def _systems(metres: Fraction | float) -> tuple[bool, bool]:
    """Return whether a length is whole millimetres, and whether whole sixteenths of an inch."""
    exact = Fraction(metres).limit_denominator(_FINEST)
    if abs(exact - Fraction(metres)) > _ROUNDING:
        return False, False
    return (exact * 1000).denominator == 1, (16 * exact / INCH).denominator == 1


def show_about(metres: float, unit: str) -> str:
    """Return a length no finer than somebody looks for a place: to the inch or centimetre.

    A half is rounded up, whatever its last bit is: one height is then the same wherever it is read.

    >>> show_about(3.8195, "ft"), show_about(3.8195, "m")
    ('12 ft 6 in', '3.82 m')
    """
    metres += 1e-6
    if unit in ("ft", "in"):
        return feet_inches(metres, parts=1)
    return show_length(round(metres, 2), unit)


def at_least(metres: Fraction | float, unit: str) -> Fraction:
    """Return a length of wire to cut (m): up to the next whole inch, or centimetre."""
    step = INCH if unit in ("ft", "in") else Fraction(1, 100)
    return step * math.ceil(Fraction(metres) / step - Fraction(1, 1000))


def show_at_least(metres: Fraction | float, unit: str) -> str:
    """Return such a length for people.

    >>> show_at_least(11.602, "ft"), show_at_least(3.6576, "ft"), show_at_least(2.941, "m")
    ('38 ft 1 in', '12 ft', '2.95 m')
    """
    return show_length(at_least(metres, unit), unit)


def show_place(metres: float, unit: str) -> str:
    """Write a place along a line for people: ``the start``, or how far it is from there.

    >>> show_place(0.0, "ft"), show_place(3.81, "ft")
    ('the start', '12 ft 6 in')
    """
    return show_length(metres, unit) if metres > 0 else "the start"


#: The space between a figure and its fraction or unit.
_JOINED = re.compile(
    r"(?<=\d) (?=%|\d+/\d|(?:in|ft|m|mm|mm2|cm|A|V|W|C|F|AWG|ohm)\b)"
    r"|(?<=\d ft) (?=\d+(?: \d+/\d+)? in\b|\d+/\d+ in\b)"
)


def unbroken(text: str) -> str:
    """Return text in which no fraction, and no figure with its unit, breaks over two lines.

    >>> unbroken("at 8 ft 1 1/2 in, on 14 AWG").replace(chr(0xA0), "_")
    'at 8_ft_1_1/2_in, on 14_AWG'
    """
    return _JOINED.sub("\N{NO-BREAK SPACE}", text)
