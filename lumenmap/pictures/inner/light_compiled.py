"""Shadows and the light of lamps in C: arrays are made here, filled by `c/shade.c`, `c/shine.c`."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.inner import _loops
from lumenmap.pictures.inner.outlines import Outlines

F32 = NDArray[np.float32]
F64 = NDArray[np.float64]
Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


def within(x: NDArray[Any], y: NDArray[Any], corners: F64) -> Bools:
    """Return (K,) whether points lie within an outline (V, 2), by the even-odd rule."""
    x, y = (np.ascontiguousarray(each, np.float64) for each in (x, y))
    out = np.empty(x.shape, bool)
    _loops.within(x, y, np.ascontiguousarray(corners, np.float64), out)
    return out


def blocked(starts: F64, stops: F64, faces: Outlines) -> Bools:
    """Return (P, L): whether a face blocks the line from each of (P, 3) to each of (L, 3) m."""
    starts, stops = (np.ascontiguousarray(each, np.float64) for each in (starts, stops))
    out = np.zeros((len(starts), len(stops)), bool)
    _loops.blocked(starts, stops, faces, out)
    return out


def apart(starts: F64, stops: F64, pairs: tuple[Ints, Ints], faces: Outlines) -> Bools:
    """Return (K,): whether a face is between the two of each pair of (P, 3) and (L, 3) m.

    ``pairs`` (K,), (K,) are the numbers of the starts and of the stops.
    """
    starts, stops = (np.ascontiguousarray(each, np.float64) for each in (starts, stops))
    one, two = (np.ascontiguousarray(each, np.int64) for each in pairs)
    out = np.zeros(len(one), bool)
    _loops.apart(starts, stops, one, two, faces, out)
    return out


def sunlit(
    starts: F64, normals: F64, towards: F64, faces: Outlines, reach: tuple[float, float]
) -> Bools:
    """Return (K,) whether light from a direction (3,) gets to points (K, 3) m with their normals.

    ``reach``: faces nearer than the first (m), across their plane, or further than the second,
    along the light, throw no shadow.
    """
    given = (np.ascontiguousarray(each, np.float64) for each in (starts, normals, towards))
    starts, normals, towards = given
    out = np.empty(len(starts), bool)
    _loops.sunlit(starts, normals, towards, faces, *reach, out)
    return out


def shine(
    points: F32,
    normals: F32,
    lamps: F32,
    starts: Ints,
    dark: Bools | None,
    beam: tuple[float, float],
) -> F32:
    """Return (P, G) the irradiance at points from each group of lamps (1/m²).

    Parameters
    ----------
    points, normals
        (P, 3) m, and unit normals.
    lamps
        (7, L): places (m), directions, and how bright each is straight ahead.
    starts
        (G,): first lamp of each group.
    dark
        (P, L): which lamps are hidden from which points.
    beam
        Intensity at 90° relative to straight ahead, and the cosine at which it ends.
    """
    out = np.empty((len(points), len(starts)), np.float32)
    _loops.shine(
        np.ascontiguousarray(points, np.float32),
        np.ascontiguousarray(normals, np.float32),
        np.ascontiguousarray(lamps, np.float32),
        np.ascontiguousarray(starts, np.int64),
        np.empty(0, bool) if dark is None else np.ascontiguousarray(dark),
        out,
        *beam,
    )
    return out
