"""How much of what cells give off gets to the knots of other faces."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.inner import SparseRows
from lumenmap.pictures.light.form import form_factors
from lumenmap.pictures.light.nets import Net
from lumenmap.pictures.scene.shadow import apart
from lumenmap.pictures.scene.surface import Surface

F32 = NDArray[np.float32]
Ints = NDArray[np.int64]

#: What a cell gives a knot is left out if it is less than this part of all that the knot gets; the
#: rest is made that much brighter.
FAINT = 0.001
#: Knots are seen from this far in front of their face (m).
OFF = 0.02
#: Nearer than this a cell is too large for the rough estimate of what it gives (m).
NEAR = 0.1


class Web(NamedTuple):
    """All nets of a house: V knots, C cells, N faces.

    Attributes
    ----------
    knots, corners, middles
        (V, 3), (C, 4, 3), (C, 3) m; knots and middles a little in front of their faces.
    normals, levels
        (N, 3) and (N,) m: the planes of the faces.
    knot_starts, cell_starts
        (N + 1,) the first knot and the first cell of each face.
    """

    knots: F32
    corners: F32
    middles: F32
    normals: F32
    levels: F32
    knot_starts: Ints
    cell_starts: Ints

    @property
    def cell_normals(self) -> F32:
        """(C, 3)."""
        return np.repeat(self.normals, np.diff(self.cell_starts), axis=0)

    @property
    def knot_normals(self) -> F32:
        """(V, 3)."""
        return np.repeat(self.normals, np.diff(self.knot_starts), axis=0)


def web(nets: Sequence[Net]) -> Web:
    """Put nets together."""
    normals = np.array([net.surface.normal for net in nets])
    levels = np.array([net.surface.corners[0] @ net.surface.normal for net in nets])
    knots, middles = (
        np.concatenate([at + OFF * n for at, n in zip(each, normals, strict=True)])
        for each in ([net.knots for net in nets], [net.middles for net in nets])
    )
    corners = np.concatenate([net.corners for net in nets])
    starts = (
        np.cumsum([0, *(len(at) for at in each)])
        for each in ([net.knots for net in nets], [net.middles for net in nets])
    )
    a, b, c, d, e = (x.astype(np.float32) for x in (knots, corners, middles, normals, levels))
    return Web(a, b, c, d, e, *starts)


def exchange(
    web: Web, held: NDArray[np.bool_], gives: F32, shades: Sequence[Surface]
) -> SparseRows:
    """Return (V, C): irradiance of the knots that are held, per unit of the cells' radiosity.

    ``gives`` (C,) says about how much light each cell gives off: what matters little is left out.
    """
    row, column, more = _pairs(web, held, gives)
    clear = ~apart(web.knots, web.middles, (row, column), shades)
    row, column = row[clear], column[clear]
    factor = form_factors(web.knots[row], web.knot_normals[row], web.corners[column])
    factor *= more[row]
    return SparseRows.gathered(row, column, factor, (len(web.knots), len(web.corners)))


def _pairs(web: Web, held: NDArray[np.bool_], gives: F32) -> tuple[Ints, Ints, F32]:
    """Return knots (K,) and cells (K,) that may light them, and (V,) 1 / the part not left out."""
    over, high = (at @ web.normals.T - web.levels for at in (web.knots, web.middles))
    # Those of faces in one plane are OFF above it.
    above, risen = (over > OFF / 4) & held[:, None], high > 1.5 * OFF
    np.maximum(over, NEAR, out=over)
    cross = web.corners[:, 1] - web.corners[:, 0], web.corners[:, 3] - web.corners[:, 0]
    strength = gives * np.linalg.norm(np.cross(*cross), axis=1) / np.float32(np.pi)
    total, kept = np.zeros(len(web.knots), np.float32), np.zeros(len(web.knots), np.float32)
    blocks = []
    for to in range(len(web.normals)):
        knots = np.arange(web.knot_starts[to], web.knot_starts[to + 1])
        for by in range(len(web.normals)):
            first, last = web.cell_starts[by : by + 2]
            cells = first + np.flatnonzero(risen[first:last, to])
            seen = knots[above[knots, by]] if by != to and len(cells) else knots[:0]
            if not len(seen):
                continue
            light = _rough(web.knots[seen], web.middles[cells])
            light *= over[seen, by, None] * (high[cells, to] * strength[cells])
            total[seen] += light.sum(1)
            blocks.append((seen, cells, light))
    rows, columns = [np.zeros(0, np.int64)], [np.zeros(0, np.int64)]
    for seen, cells, light in blocks:
        i, j = np.nonzero(light > FAINT * total[seen, None])
        np.add.at(kept, seen[i], light[i, j])
        rows.append(seen[i])
        columns.append(cells[j])
    more = np.divide(total, kept, out=np.ones_like(total), where=kept > 0)
    return np.concatenate(rows), np.concatenate(columns), more


def _rough(a: F32, b: F32) -> F32:
    """Return 1 / d⁴ for the distances (A, B) of points (A, 3) and (B, 3), `NEAR` or further."""
    middle = b.mean(0)
    p, q = a - middle, b - middle
    square = (p * p).sum(1)[:, None] + (q * q).sum(1) - 2 * (p @ q.T)
    np.maximum(square, np.float32(NEAR**2), out=square)
    return np.asarray(1 / (square * square), np.float32)
