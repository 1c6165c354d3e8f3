"""Reading an exact length on a tape: the nearest mark, its error, and accumulated drift."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from lumenmap.core.units import INCH
from lumenmap.house.choices import Unit

#: Divisions of an inch that tapes and rules are marked in.
PARTS = (16, 32, 64)
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
    mark = round(place / division) * division
    return Reading(mark, mark - place)


def divisions(unit: Unit) -> list[tuple[str, Fraction]]:
    """Return the tapes of a house's unit: 1/16, 1/32 and 1/64 in, or 1 and 1/2 mm."""
    if unit in ("ft", "in"):
        return [(f"1/{n} in", INCH / n) for n in PARTS]
    return [("1 mm", MILLIMETRE), ("1/2 mm", MILLIMETRE / 2)]


def stepped(first: Fraction, spacing: Fraction, k: int, division: Fraction) -> Fraction:
    """Return the error (m) of hole k if each hole were measured from the one before it.

    Every step is the spacing as read on the tape, so its error adds up; the first hole is measured
    from the datum.
    """
    return nearest(first, division).error + k * nearest(spacing, division).error


def inches(place: Fraction, parts: int) -> str:
    """Format a length in inches to the nearest 1/``parts``: ``14 13/32``."""
    steps = round(place / INCH * parts)
    whole, rest = divmod(steps, parts)
    if not rest:
        return str(whole)
    return f"{whole} {Fraction(rest, parts)}" if whole else str(Fraction(rest, parts))
