"""What looks like a mistake but may be intended: a sentence for the owner, never an error."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

import numpy as np

from lumenmap.core.units import LENGTH, show_length
from lumenmap.house.choices import Unit
from lumenmap.house.model import Edge, Mass, Rail

#: A tape and a model that differ by more than this part are reported: our choice.
DIFFERENCE = 0.01
#: An edge longer than this many times the longest side of its mass, or the perimeter of all
#: masses, is reported: feet taken for inches differ by 12, metres for feet by 3.3.
TOO_LONG = 1.5
#: Eaves that people reach with a ladder (m): lower or higher ones are reported.
LOW_EAVE, HIGH_EAVE = 1.5, 12.0
#: A hole spacing above a foot is reported (m): rails have holes 2 to 12 in apart, common practice,
#: no source. The same number in a smaller unit is offered if that is `LEAST_SPACING` or more.
MOST_SPACING, LEAST_SPACING = 0.305, 0.01
SMALLER_UNIT: dict[Unit, Unit] = {"ft": "in", "m": "cm"}


def plausibility_notes(
    masses: Iterable[Mass], edges: dict[str, Edge], rail: Rail, unit: Unit
) -> list[str]:
    """Return a sentence for each thing that looks like a mistake."""
    masses = list(masses)
    found = _spacing("rail", rail, unit)
    for edge in edges.values():
        if edge.rail is not None and edge.rail.hole_spacing != rail.hole_spacing:
            found += _spacing(f'edge "{edge.name}"', edge.rail, unit)
    for m in masses:
        high = m.base + m.eave
        if not LOW_EAVE <= high <= HIGH_EAVE:
            found.append(
                f'mass "{m.name}": its eave is {show_length(high, unit)} above the ground; '
                "is that the right unit?"
            )
    longest = {m.name: max(m.width, m.depth) + 2 * m.overhang for m in masses}
    perimeter = sum(2 * (m.width + m.depth) for m in masses)
    for edge in edges.values():
        if edge.measured is not None:
            found += _tape(edge, edge.measured, unit)
        owner = next((m.name for m in masses if edge.name.startswith(f"{m.name}/")), None)
        size = longest[owner] if owner else perimeter
        length = float(edge.measured or edge.length)
        if size and edge.mass is None and length > TOO_LONG * size:
            what = f'mass "{owner}"' if owner else "all masses together"
            found.append(
                f'edge "{edge.name}" is {show_length(length, unit)} long, much longer than '
                f"{what}, {_size(masses, owner, unit)}; is that the right unit?"
            )
        if len(edge.points) and float(np.min(edge.points[:, 2])) < -0.01:
            found.append(f'edge "{edge.name}" is partly below the ground')
    return found


def _spacing(where: str, rail: Rail, unit: Unit) -> list[str]:
    if rail.hole_spacing <= MOST_SPACING:
        return []
    number, small = rail.hole_spacing / LENGTH[unit], SMALLER_UNIT.get(unit, unit)
    likely = LEAST_SPACING <= number * LENGTH[small] <= MOST_SPACING
    ask = f'did you mean "{float(number):g} {small}"?' if likely else "is that the right unit?"
    return [f"{where}: {show_length(rail.hole_spacing, unit)} between holes; {ask}"]


def _size(masses: list[Mass], owner: str | None, unit: Unit) -> str:
    chosen = [m for m in masses if owner in (None, m.name)]
    wide, deep = sum(m.width for m in chosen), sum(m.depth for m in chosen)
    return f"{show_length(wide, unit)} wide and {show_length(deep, unit)} deep"


def _tape(edge: Edge, measured: Fraction, unit: Unit) -> list[str]:
    tape = float(measured)
    part = tape / edge.length - 1
    if abs(part) <= DIFFERENCE:
        return []
    return [
        f'edge "{edge.name}" is {show_length(tape, unit)} on the tape and '
        f"{show_length(edge.length, unit)} in the model, {abs(part):.1%} "
        f"{'longer' if part > 0 else 'shorter'}; the pixels follow the tape"
    ]
