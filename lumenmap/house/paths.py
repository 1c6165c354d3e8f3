"""Where an edge on a line's path meets a mass, and how messages name an item of a path."""

from __future__ import annotations

from lumenmap.house.masses.filled import solids
from lumenmap.house.masses.mass import Mass
from lumenmap.house.model import Edge
from lumenmap.solids.convex import passages


def item_key(line: str, i: int, kind: str = "") -> str:
    """Return the key of an item of a path, counted from 1, with what it is unless an edge."""
    return f'line "{line}", path item {i + 1}' + (f" ({kind})" if kind else "")


def met(edge: Edge, mass: Mass, *, into: bool) -> float | None:
    """Return where an edge first goes into a mass, m along the tape; else where it comes out.

    None if it doesn't, or if the mass is its own.
    """
    if mass.name == edge.mass:
        return None
    ends = [end for pair in passages(solids(mass), edge.points) for end in pair]
    at = [p for p in ends[0 if into else 1 :: 2] if 0 < p < edge.length - 1e-6]
    scale = 1 if edge.measured is None else float(edge.measured) / edge.length
    return at[0] * scale if at else None
