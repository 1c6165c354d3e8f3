"""`Surface`: a flat piece of the scene."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

F = NDArray[np.float64]
Colour = tuple[float, float, float]
BLACK: Colour = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """A flat piece: (K, 3) corners in m, outward unit normal, linear reflectance, own light.

    ``kind`` is the face's kind, or glass, trim, step, path, street, tree, ground…; it decides
    the texture.
    """

    kind: str
    corners: F
    normal: F
    colour: Colour
    glow: Colour = BLACK
    name: str = ""


def flat(
    kind: str, corners: ArrayLike, colour: Colour, name: str = "", glow: Colour = BLACK
) -> Surface | None:
    """Make a surface of corners in order, or None if they enclose no area."""
    points = np.asarray(corners, np.float64)
    normal = newell(points)
    return None if normal is None else Surface(kind, points, normal, colour, glow, name)


def newell(corners: F) -> F | None:
    """Return the unit normal of a polygon by Newell's method, or None if it has no area."""
    normal = np.cross(corners, np.roll(corners, -1, axis=0)).sum(0)
    size = float(np.linalg.norm(normal))
    return normal / size if size > 1e-9 else None


def seen_side(surface: Surface, eye: F) -> F:
    """Return the normal of the side that an eye sees: leaves and thin sheets have two."""
    away = float((eye - surface.corners[0]) @ surface.normal) < 0
    return -surface.normal if away else surface.normal


def box(
    kind: str, low: ArrayLike, high: ArrayLike, colour: Colour, name: str = ""
) -> list[Surface]:
    """Return the five visible sides of an upright box (no bottom)."""
    (a, b, c), (d, e, f) = np.asarray(low, float), np.asarray(high, float)
    sides = (
        [(a, b, f), (d, b, f), (d, e, f), (a, e, f)],
        [(a, b, c), (d, b, c), (d, b, f), (a, b, f)],
        [(d, b, c), (d, e, c), (d, e, f), (d, b, f)],
        [(d, e, c), (a, e, c), (a, e, f), (d, e, f)],
        [(a, e, c), (a, b, c), (a, b, f), (a, e, f)],
    )
    made = (flat(kind, side, colour, name) for side in sides)
    return [s for s in made if s is not None]
