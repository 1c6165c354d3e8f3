"""The lines of a house as a draughtsman draws it: the rims of its faces, and none inside a face."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache

import numpy as np

from lumenmap.house.hull.faces import hull
from lumenmap.house.model import Face, House, Points
from lumenmap.solids.outside import FLUSH
from lumenmap.solids.planes import chord, normal

#: Lines and points nearer to each other than this (m) are one.
SAME = 0.001
#: How far beside a line it is asked whether a face goes on there (m).
BESIDE = 0.005
OPENINGS = ("window", "door")


@lru_cache(maxsize=4)
def rims(house: House) -> tuple[tuple[Points, Points], ...]:
    """Return the normal (3,) of a face and a line (2, 3) m of its rim, for all that is outside.

    Lines between parts of one face are left out, and where another face of its colour goes on in
    its plane: two walls that are flush have no line between them.
    """
    parts = hull(house)
    whole = {face.name: face.corners for face in house.faces}
    normals = np.array([normal(part.corners) for part in parts]).reshape(-1, 3)
    offsets = np.array([n @ part.corners[0] for n, part in zip(normals, parts, strict=True)])
    found = []
    for part, facing, offset in zip(parts, normals, offsets, strict=True):
        flush = (normals @ facing > 1 - 1e-9) & (np.abs(offsets - offset) < FLUSH)
        # An opening lies on a wall, and has its rim all the same.
        beside = [
            parts[k]
            for k in np.flatnonzero(flush)
            if part.kind not in OPENINGS and parts[k].kind not in OPENINGS
            if parts[k].name != part.name and parts[k].colour == part.colour
        ]
        for a, b in zip(part.corners, np.roll(part.corners, -1, axis=0), strict=True):
            if np.linalg.norm(b - a) > SAME and _on(whole[part.name], (a + b) / 2):
                found += [(facing, line) for line in _without(a, b, facing, beside)]
    return tuple(found)


def _without(a: Points, b: Points, facing: Points, beside: Sequence[Face]) -> Iterator[Points]:
    """Yield the parts of an edge where no face goes on beyond it."""
    length = float(np.linalg.norm(b - a))
    way = (b - a) / length
    start = a - BESIDE * np.cross(facing, way)
    spans = sorted(chord(face.corners, facing, start, way) for face in beside)
    at = 0.0
    for low, high in spans:
        if high - low > SAME and high > at:
            if low - at > SAME:
                yield np.array([a + way * at, a + way * min(low, length)])
            at = high
        if at >= length:
            return
    if length - at > SAME:
        yield np.array([a + way * at, b])


def _on(ring: Points, point: Points) -> bool:
    """Return whether a point (3,) is on the outline (K, 3) of a face."""
    along = np.roll(ring, -1, axis=0) - ring
    size = np.maximum(np.einsum("kn,kn->k", along, along), 1e-12)
    share = np.clip(np.einsum("kn,kn->k", along, point - ring) / size, 0, 1)
    return bool(np.linalg.norm(ring + share[:, None] * along - point, axis=1).min() < SAME)


def merged(lines: Sequence[Points]) -> list[Points]:
    """Return lines (2, 3) with those that overlap, or continue each other, made one."""
    groups: dict[tuple[float, ...], list[tuple[float, float, Points, Points]]] = {}
    for line in lines:
        a, b = line
        way = (b - a) / np.linalg.norm(b - a)
        if tuple(np.round(way, 3)) < (0.0, 0.0, 0.0):
            a, b, way = b, a, -way
        foot = a - (a @ way) * way
        key = (*np.round(way, 3) + 0.0, *np.round(foot, 2) + 0.0)
        groups.setdefault(key, []).append((float(a @ way), float(b @ way), a, b))
    found: list[Points] = []
    for group in groups.values():
        spans = sorted(group, key=lambda span: span[0])
        _, last, a, b = spans[0]
        for low, high, start, stop in spans[1:]:
            if low > last + SAME:
                found.append(np.array([a, b]))
                last, a, b = high, start, stop
            elif high > last:
                last, b = high, stop
        found.append(np.array([a, b]))
    return found
