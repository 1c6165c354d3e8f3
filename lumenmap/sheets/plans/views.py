"""Elevations and plan: orthographic views of the house without hidden lines.

Strategy: every line is cut into short bits, and a bit is drawn if no face is between it and the
viewer. Faces are flat and convex, so that is a few dot products for all bits together.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.hull.faces import meetings
from lumenmap.house.hull.lines import merged, rims
from lumenmap.house.model import Face, House

F = NDArray[np.float64]
ViewName = Literal["front", "plan", "right side", "back", "left side"]

#: Length of a bit (m); how far in front of it a face must be to hide it.
BIT = 0.05
IN_FRONT = 0.02
#: A face hides a point only this far inside its outline (m), so that it doesn't hide its own edges.
INSIDE = 0.004
#: Points tested together: bounds the memory.
_CHUNK = 20_000


@dataclass(frozen=True, slots=True, eq=False)
class View:
    """A direction of view: unit vectors right and up on the page, and towards the viewer."""

    name: ViewName
    right: F
    up: F
    viewer: F

    def flat(self, points: F) -> F:
        """Return points (…, 3) in the view: (…, 2) m right and up."""
        return np.stack([points @ self.right, points @ self.up], axis=-1)

    def depth(self, points: F) -> F:
        """Return the distance towards the viewer (…,) m of points (…, 3)."""
        return np.asarray(points @ self.viewer)


def _view(name: ViewName, right: tuple[int, int, int], viewer: tuple[int, int, int]) -> View:
    r, v = np.array(right, float), np.array(viewer, float)
    return View(name, r, np.cross(v, r), v)


VIEWS = (
    _view("front", (1, 0, 0), (0, -1, 0)),
    _view("plan", (1, 0, 0), (0, 0, 1)),
    _view("right side", (0, 1, 0), (1, 0, 0)),
    _view("back", (-1, 0, 0), (0, 1, 0)),
    _view("left side", (0, -1, 0), (-1, 0, 0)),
)


def visible(points: F, view: View, faces: tuple[Face, ...]) -> NDArray[np.bool_]:
    """Return which points (N, 3) no face hides from the viewer."""
    seen = np.ones(len(points), bool)
    for start in range(0, len(points), _CHUNK):
        part = slice(start, start + _CHUNK)
        flat, depth = view.flat(points[part]), view.depth(points[part])
        for face in faces:
            seen[part] &= ~_hides(face, view, flat, depth)
    return seen


def _hides(face: Face, view: View, flat: F, depth: F) -> NDArray[np.bool_]:
    ring, deep = view.flat(face.corners), view.depth(face.corners)
    after = np.roll(ring, -1, axis=0) - ring
    area = float(
        np.sum(ring[:, 0] * np.roll(ring[:, 1], -1) - np.roll(ring[:, 0], -1) * ring[:, 1])
    )
    if abs(area) < 1e-6:
        return np.zeros(len(flat), bool)  # seen edge-on
    size = np.linalg.norm(after, axis=1)
    ok = size > 1e-9
    inward = np.stack([-after[:, 1], after[:, 0]], axis=1)[ok] / size[ok, None] * np.sign(area)
    far = np.einsum("nek,ek->ne", flat[:, None] - ring[ok], inward)
    inside = (far > INSIDE).all(axis=1)
    # The face's depth is a linear function on the page: fit it to its corners.
    table = np.column_stack([ring, np.ones(len(ring))])
    plane, *_ = np.linalg.lstsq(table, deep, rcond=None)
    return np.asarray(inside & (flat @ plane[:2] + plane[2] > depth + IN_FRONT))


def outlines(house: House, view: View) -> list[F]:
    """Return the visible lines (K, 2) of the house, m on the page.

    They are the edges of its faces as far as no mass hides them, and the lines in which walls and
    roofs of different masses cut each other.
    """
    own = [line for facing, line in rims(house) if facing @ view.viewer > 1e-6]
    cuts = [line for _, _, line in meetings(house)]
    bits = [_bits(a, b) for a, b in merged([*own, *cuts])]
    if not bits:
        return []
    middles = np.concatenate([(line[:-1] + line[1:]) / 2 for line in bits])
    seen = visible(middles, view, house.faces)
    lines, first = [], 0
    for line in bits:
        lines += _stretches(view.flat(line), seen[first : first + len(line) - 1])
        first += len(line) - 1
    return lines


def _bits(a: F, b: F) -> F:
    """Return a line from a to b cut into bits, by their ends."""
    count = max(1, round(float(np.linalg.norm(b - a)) / BIT))
    return np.asarray(a + (b - a) * np.linspace(0, 1, count + 1)[:, None])


def _stretches(line: F, seen: NDArray[np.bool_]) -> list[F]:
    """Return the visible parts of a line cut into bits, each as its two ends."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], seen, [False]]).astype(int)))
    return [line[[a, b]] for a, b in edges.reshape(-1, 2)]
