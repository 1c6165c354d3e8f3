"""Lengths for people to read: on a tape measure, in metres, as a place along a line."""

from __future__ import annotations

import re
from fractions import Fraction

from lumenmap.core.units import INCH, LENGTH


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
        return f"{float(metres / LENGTH[unit]):.4g} {unit}"
    mm = 1000 * float(metres)
    if 0.05 <= abs(mm) < 99.5:
        return f"{round(mm, int(abs(mm) < 10)):g} mm"
    text = f"{float(metres):.3f}".rstrip("0").rstrip(".")
    return f"{'0' if text == '-0' else text} m"


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
