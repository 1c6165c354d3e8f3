"""Reading an exact length on the owner's tape: the nearest mark, its error, and drift."""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from lumenmap.core.units import INCH
from lumenmap.house.choices import Tape

MILLIMETRE = Fraction(1, 1000)


@dataclass(frozen=True, slots=True)
class Reading:
    """The nearest mark (m, exact), and its error: positive beyond the true length."""

    mark: Fraction
    error: Fraction


def nearest(place: Fraction, division: Fraction) -> Reading:
    """Return the nearest mark of a tape with marks every ``division`` m.

    >>> r = nearest(Fraction(24, 10) * INCH, INCH / 16)
    >>> r.mark / INCH, float(r.error / INCH)
    (Fraction(19, 8), -0.025)
    """
    mark = _whole(place / division) * division
    return Reading(mark, mark - place)


def _whole(steps: Fraction) -> int:
    """Return the nearest whole number; of two, always the upper, so that even steps stay even.

    Holes every 75 mm from 37.5 mm are at 38, 113 and 188 mm, and not at 38, 112 and 188 mm.
    """
    return math.floor(steps + Fraction(1, 2))


def division(tape: Tape) -> Fraction:
    """Return how far apart (m) a tape's marks are.

    >>> division("1/16 in") == INCH / 16, division("1/2 mm") == MILLIMETRE / 2
    (True, True)
    """
    return Fraction(tape.split()[0]) * unit_of(tape)


def unit_of(tape: Tape) -> Fraction:
    """Return the unit (m) of a tape's figures: an inch or a millimetre."""
    return INCH if tape.endswith("in") else MILLIMETRE


def show_mark(place: Fraction, tape: Tape) -> str:
    """Format the mark nearest to a place as it reads on the tape, without its unit.

    >>> show_mark(Fraction(366, 1000), "1/32 in"), show_mark(Fraction(366, 1000), "1 mm")
    ('14 13/32', '366')
    """
    mark = nearest(place, division(tape)).mark
    parts = (unit_of(tape) / division(tape)).numerator
    if tape.endswith("in") and parts != 100:  # tapes in hundredths are read in decimals
        return inches(mark, parts)
    return f"{float(mark / unit_of(tape)):.10g}"


def stepped(first: Fraction, spacing: Fraction, k: int, division: Fraction) -> Fraction:
    """Return the error (m) of hole k if each hole were measured from the one before it.

    Every step is the spacing as read on the tape, so its error adds up; the first hole is measured
    from the datum.
    """
    return nearest(first, division).error + k * nearest(spacing, division).error


def inches(place: Fraction, parts: int) -> str:
    """Format a length in inches to the nearest 1/``parts``: ``14 13/32``."""
    steps = _whole(place / INCH * parts)
    whole, rest = divmod(steps, parts)
    if not rest:
        return str(whole)
    return f"{whole} {Fraction(rest, parts)}" if whole else str(Fraction(rest, parts))
