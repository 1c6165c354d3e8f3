"""What looks like a slip but may be meant: a sentence for the owner, never an error."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from lumenmap.core.units import LENGTH, show_length
from lumenmap.house.model import Edge, Mass, Rail

#: A tape and a model further apart than this are reported.
APART = 0.01
#: An edge longer than this many times the longest side of its mass, or than the way round all
#: masses, is reported: feet taken for inches differ by 12, metres for feet by 3.3.
LONG = 1.5
#: Eaves that people reach with a ladder (m): lower or higher ones are reported.
LOW_EAVE, HIGH_EAVE = 1.5, 12.0
#: Holes further apart than a foot are reported (m): rails have them 2 to 12 in apart, common
#: practice, no source. What the smaller unit would make of the number is offered down to `NEAR`.
FAR, NEAR = 0.305, 0.01
SMALLER = {"ft": "in", "m": "cm"}


def notes(masses: Iterable[Mass], edges: dict[str, Edge], rail: Rail, unit: str) -> list[str]:
    """Return the sentences."""
    masses = list(masses)
    found = _holes("rail", rail, unit)
    for edge in edges.values():
        if edge.rail is not None and edge.rail.hole_spacing != rail.hole_spacing:
            found += _holes(f'edge "{edge.name}"', edge.rail, unit)
    for m in masses:
        high = m.base + m.eave
        if not LOW_EAVE <= high <= HIGH_EAVE:
            found.append(
                f'mass "{m.name}": its eave is {show_length(high, unit)} above the ground; '
                "is that the unit you meant?"
            )
    longest = {m.name: max(m.width, m.depth) + 2 * m.overhang for m in masses}
    round_all = sum(2 * (m.width + m.depth) for m in masses)
    for edge in edges.values():
        if edge.measured is not None:
            found += _tape(edge, edge.measured, unit)
        owner = next((m.name for m in masses if edge.name.startswith(f"{m.name}/")), None)
        size = longest[owner] if owner else round_all
        length = float(edge.measured or edge.length)
        if size and edge.mass is None and length > LONG * size:
            what = f'mass "{owner}"' if owner else "all masses together"
            found.append(
                f'edge "{edge.name}" is {show_length(length, unit)} long, much more than '
                f"{what}, {_size(masses, owner, unit)}; were inches or metres meant?"
            )
        if len(edge.points) and float(np.min(edge.points[:, 2])) < -0.01:
            found.append(f'edge "{edge.name}" runs below the ground')
    return found


def _holes(where: str, rail: Rail, unit: str) -> list[str]:
    if rail.hole_spacing <= FAR:
        return []
    number, small = rail.hole_spacing / LENGTH[unit], SMALLER.get(unit, unit)
    meant = NEAR <= number * LENGTH[small] <= FAR
    ask = f'did you mean "{float(number):g} {small}"?' if meant else "is that the unit you meant?"
    return [f"{where}: {show_length(rail.hole_spacing, unit)} between holes; {ask}"]


def _size(masses: list[Mass], owner: str | None, unit: str) -> str:
    chosen = [m for m in masses if owner in (None, m.name)]
    wide, deep = sum(m.width for m in chosen), sum(m.depth for m in chosen)
    return f"{show_length(wide, unit)} wide and {show_length(deep, unit)} deep"


def _tape(edge: Edge, measured: object, unit: str) -> list[str]:
    tape = float(measured)  # type: ignore[arg-type]
    part = tape / edge.length - 1
    if abs(part) <= APART:
        return []
    return [
        f'edge "{edge.name}" is {show_length(tape, unit)} on the tape and '
        f"{show_length(edge.length, unit)} in the model, {abs(part):.1%} "
        f"{'longer' if part > 0 else 'shorter'}; the pixels follow the tape"
    ]
