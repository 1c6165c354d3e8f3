"""Where an edge on a line's path meets a mass, and how messages name an item of a path."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

import numpy as np

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
    return at[0] * _tape(edge) if at else None


def hidden_parts(edge: Edge, masses: Iterable[Mass]) -> list[tuple[float, float, str]]:
    """Return the parts of an edge inside masses other than its own, in their order.

    Each is from, to (m along the tape), and the mass's name.
    """
    scale = _tape(edge)
    return sorted(
        (low * scale, high * scale, mass.name)
        for mass in masses
        if mass.name != edge.mass
        for low, high in passages(solids(mass), edge.points)
    )


def clearance(edge: Edge, mass: Mass) -> float:
    """Return about how far from a mass an edge passes that doesn't go into it (m); 0 along it."""
    points = np.concatenate(
        [np.linspace(a, b, 2 + int(np.linalg.norm(b - a) / 0.02)) for a, b in pairwise(edge.points)]
    )
    far = [(points @ s.normals.T - s.offsets).max(axis=1).min() for s in solids(mass)]
    return max(0.0, float(min(far)))


def _tape(edge: Edge) -> float:
    """Return the length on the owner's tape of a metre of the model."""
    return 1.0 if edge.measured is None else float(edge.measured) / edge.length
