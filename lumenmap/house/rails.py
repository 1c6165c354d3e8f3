"""How rails are cut, drilled and expand, in exact metres, and what the owner drills with."""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from lumenmap.house.choices import DrillUnit, Remainder, Tape


class Rail(NamedTuple):
    """How pipe or channel is cut and drilled: exact metres.

    Attributes
    ----------
    length, hole_spacing, first_hole
        Stock length; distance from hole to hole; from a rail's end to its first hole.
    remainder
        Where an edge isn't a whole number of spacings: ``both`` ends, the ``start`` or the ``end``
        stay bare; the holes are ``spread`` evenly; or ``trim`` cuts the last rail to the edge.
    clear_start, clear_end
        Keep rails this far from the ends of an edge.
    gap
        Between rails at a joint, to expand into.
    kerf
        Width of the saw's cut.
    """

    length: Fraction
    hole_spacing: Fraction
    first_hole: Fraction
    remainder: Remainder = "both"
    clear_start: Fraction = Fraction(0)
    clear_end: Fraction = Fraction(0)
    gap: Fraction = Fraction(0)
    kerf: Fraction = Fraction(0)


class ThermalRange(NamedTuple):
    """Why rails expand: their material, and the coldest, warmest and fitting temperature (°C).

    ``sun``: how much of the warmest is the sun's, over the warmest air (°C).
    """

    material: str
    coldest: float
    warmest: float
    fitted_at: float
    sun: float = 0.0


class Drill(NamedTuple):
    """The owner's drilling machine: m, feed in m a minute; ``units`` of the drilling program."""

    units: DrillUnit
    travel: Fraction
    bit: Fraction
    depth: Fraction
    retract: Fraction
    feed: Fraction
    spindle: int | None


class Bench(NamedTuple):
    """What the owner drills with by hand: the marks of the tape, and the bit's diameter (m)."""

    tape: Tape = "1 mm"
    bit: Fraction | None = None
