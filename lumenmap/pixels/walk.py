"""`Walk`: a route laid on a house: how far along it each pixel is, in metres along the edges.

A route passes the parts of edges that data lines follow. What lies between two of them, the rest of
an edge or the way to the next one, is a gap: it counts as the straight distance, or not at all.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.lengths import show_length
from lumenmap.house.model import Edge, House, Run
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.pixels.tour import tour
from lumenmap.routes.route import Route, Stretch, no_edge_of_route

F = NDArray[np.float64]
#: Part of an edge: from and to, m from its own start.
Part = tuple[float, float]

#: Lengths that differ by less are the same (m).
_SAME = 1e-6


class Passage(NamedTuple):
    """Part of an edge as a route runs it; ``begins`` is how far along the route it begins (m)."""

    edge: str
    low: float
    high: float
    reversed: bool
    begins: float


class Walk(NamedTuple):
    """A route laid on a house.

    Attributes
    ----------
    passages
        What it passes, in order.
    metres
        (N,) m from its beginning; 0 for pixels that aren't on it.
    on
        (N,) whether it passes the pixel.
    length
        Its length in m, gaps included if they count; of a closed one, the whole lap.
    closed
        Whether its end leads back to its beginning.
    """

    passages: tuple[Passage, ...]
    metres: F
    on: NDArray[np.bool_]
    length: float
    closed: bool

    def parts(self, count: int) -> list[NDArray[np.bool_]]:
        """Return which pixels (N,) lie in each of ``count`` parts of equal length, in order."""
        number = np.minimum((self.metres * (count / self.length)).astype(int), count - 1)
        return [self.on & (number == i) for i in range(count)]


def walk(pixelmap: PixelMap, house: House, route: Route) -> Walk:
    """Lay a route on a house.

    Raises
    ------
    InputError
        An edge that the house doesn't have, or one without pixels; the key is ``item 2``.
    """
    legs = _around(house) if not route.edges else _directed(_listed(house, route), route.closed)
    passages, metres, before = [], 0.0, None
    for edge, (low, high), back in legs:
        start, stop = _points(edge, (high, low) if back else (low, high))
        if route.gaps and before is not None:
            metres += float(np.linalg.norm(start - before))
        passages.append(Passage(edge.name, low, high, back, metres))
        metres += high - low
        before = stop
    if route.closed and route.gaps and before is not None:
        first = passages[0]
        edge = house.edges[first.edge]
        start = _points(edge, (first.high if first.reversed else first.low,))[0]
        metres += float(np.linalg.norm(start - before))
    return _measured(pixelmap, tuple(passages), metres, route.closed)


def _measured(
    pixelmap: PixelMap, passages: tuple[Passage, ...], length: float, closed: bool
) -> Walk:
    """Return the walk with the distance of each pixel that it passes."""
    metres, on = np.zeros(len(pixelmap)), np.zeros(len(pixelmap), bool)
    # Pixels by their edge, so that each is looked at once and not once for each edge.
    by_edge = np.argsort(pixelmap.edge, kind="stable")
    ends = np.searchsorted(pixelmap.edge[by_edge], np.arange(len(pixelmap.edge_names) + 1))
    index = {name: i for i, name in enumerate(pixelmap.edge_names)}
    for one in passages:
        rows = by_edge[ends[index[one.edge]] : ends[index[one.edge] + 1]]
        along = pixelmap.along_edge[rows]
        inside = (along >= one.low - _SAME) & (along <= one.high + _SAME)
        rows, along = rows[inside], along[inside]
        on[rows] = True
        metres[rows] = one.begins + (one.high - along if one.reversed else along - one.low)
    return Walk(passages, np.clip(metres, 0, length), on, length, closed)


def _followed(house: House) -> dict[str, list[Part]]:
    """Return the parts of each edge that data lines follow, from its own start."""
    found: dict[str, list[Part]] = {}
    for line in house.lines:
        for step in line.path:
            if isinstance(step, Run):
                whole = _length(house.edges[step.edge])
                high = whole if step.stop is None else float(step.stop)
                found.setdefault(step.edge, []).append((float(step.start or 0), high))
    return {name: _joined(sorted(parts)) for name, parts in found.items()}


def _joined(parts: list[Part]) -> list[Part]:
    """Join parts that touch: two lines may share an edge."""
    out = parts[:1]
    for low, high in parts[1:]:
        if low <= out[-1][1] + _SAME:
            out[-1] = (out[-1][0], high)
        else:
            out.append((low, high))
    return out


def _length(edge: Edge) -> float:
    return float(edge.measured) if edge.measured is not None else edge.length


def _points(edge: Edge, along: tuple[float, ...]) -> F:
    """Return the points (K, 3) at distances along an edge, as measured with the owner's tape."""
    steps = np.linalg.norm(np.diff(edge.points, axis=0), axis=1)
    knots = np.concatenate([[0.0], np.cumsum(steps)])
    knots *= _length(edge) / knots[-1]
    return np.stack([np.interp(along, knots, c) for c in edge.points.T], axis=-1)


def _line(edge: Edge, part: Part) -> F:
    """Return the points of part of an edge (K, 3), its bends included."""
    steps = np.linalg.norm(np.diff(edge.points, axis=0), axis=1)
    knots = np.concatenate([[0.0], np.cumsum(steps)])
    knots *= _length(edge) / knots[-1]
    between = knots[(knots > part[0]) & (knots < part[1])]
    return _points(edge, (part[0], *between.tolist(), part[1]))


_Leg = tuple[Edge, Part, bool]


def _around(house: House) -> list[_Leg]:
    """Return all parts of edges that lines follow, as one walks round the house."""
    found = [(house.edges[name], p) for name, parts in _followed(house).items() for p in parts]
    return [(*found[i], back) for i, back in tour([_line(*one) for one in found])]


def _listed(house: House, route: Route) -> list[tuple[Edge, list[Part], bool | None]]:
    """Return the parts of each edge of a route that have pixels."""
    followed, out = _followed(house), []
    for i, one in enumerate(route.edges):
        try:
            out.append((house.edges[one.edge], _parts(house, followed, one), one.reversed))
        except InputError as error:
            raise InputError(error.message, key=f"item {i + 1}") from None
        except KeyError:
            says = no_edge_of_route(one, house.edges)
            raise InputError(says, key=f"item {i + 1}") from None
    return out


def _parts(house: House, followed: dict[str, list[Part]], one: Stretch) -> list[Part]:
    whole = _length(house.edges[one.edge])
    low, high = one.start or 0.0, whole if one.stop is None else one.stop
    if low >= whole:
        raise InputError(
            f'its part starts at {show_length(low, house.unit)}, but edge "{one.edge}" is '
            f"{show_length(whole, house.unit)} long"
        )
    parts = [(max(a, low), min(b, high)) for a, b in followed.get(one.edge, [])]
    parts = [(a, b) for a, b in parts if b - a > _SAME]
    if not parts:
        here = "edge" if one.start is None and one.stop is None else "that part of edge"
        raise InputError(f'{here} "{one.edge}" has no pixels: no [[line]] follows it. Leave it out')
    return parts


def _directed(stretches: list[tuple[Edge, list[Part], bool | None]], closed: bool) -> list[_Leg]:
    """Choose the direction of each edge that has none, so that the gaps are least in all."""
    ends = [_points(edge, (parts[0][0], parts[-1][1])) for edge, parts, _ in stretches]
    free = [(False, True) if back is None else (back,) for *_, back in stretches]
    best: tuple[float, list[bool]] | None = None
    for first in free[0]:
        reached = {first: (0.0, [first])}
        for i in range(1, len(stretches)):
            reached = {
                back: min(
                    (cost + _gap(ends[i - 1], before, ends[i], back), [*way, back])
                    for before, (cost, way) in reached.items()
                )
                for back in free[i]
            }
        for last, (cost, way) in reached.items():
            total = cost + (_gap(ends[-1], last, ends[0], first) if closed else 0.0)
            if best is None or (total, way) < best:
                best = (total, way)
    assert best is not None  # a route has an edge
    legs: list[_Leg] = []
    for (edge, parts, _), back in zip(stretches, best[1], strict=True):
        legs += [(edge, part, back) for part in (reversed(parts) if back else parts)]
    return legs


def _gap(a: F, a_back: bool, b: F, b_back: bool) -> float:
    step = a[0 if a_back else 1] - b[1 if b_back else 0]
    return round(float(np.sqrt(step @ step)), 6)
