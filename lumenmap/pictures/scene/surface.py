"""`Surface`: a flat part of the scene."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lumenmap.solids.planes import length, vector_area

F = NDArray[np.float64]
Colour = tuple[float, float, float]
#: What a face of the house is, then its parts and surroundings.
SurfaceKind = Literal[
    "wall",
    "roof",
    "soffit",
    "fascia",
    "window",
    "door",
    "ground",
    "trim",
    "glass",
    "curtain",
    "rail",
    "step",
    "path",
    "street",
    "snow",
    "tree",
    "shrub",
    "post",
    "lantern",
]
BLACK: Colour = (0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """A flat polygon.

    Attributes
    ----------
    kind
        A face's kind, or that of a part of the surroundings; decides the texture.
    corners, normal
        (K, 3) m, and the outward unit normal.
    colour, glow
        Linear reflectance, and radiance of its own.
    whole
        (K, 3) m, if the surface is what other masses leave of a face: all of it, which casts
        shadows. The cut goes through corners of the house, where a shadow would have a gap.
    """

    kind: SurfaceKind
    corners: F
    normal: F
    colour: Colour
    glow: Colour = BLACK
    name: str = ""
    whole: F | None = None


def flat(
    kind: SurfaceKind, corners: ArrayLike, colour: Colour, name: str = "", glow: Colour = BLACK
) -> Surface | None:
    """Make a surface from its corners, or None if they enclose no area."""
    points = np.asarray(corners, np.float64)
    normal = newell(points)
    return None if normal is None else Surface(kind, points, normal, colour, glow, name)


def newell(corners: F) -> F | None:
    """Return the unit normal of a polygon by Newell's method, or None if it has no area."""
    normal = vector_area(corners)
    size = length(normal)
    return normal / size if size > 5e-10 else None


def area_of(surface: Surface) -> float:
    """Return the area of a surface (m²)."""
    return length(vector_area(surface.corners))


def seen_side(surface: Surface, eye: F) -> F:
    """Return the normal of the side that faces the eye; thin sheets have two."""
    away = float((eye - surface.corners[0]) @ surface.normal) < 0
    return -surface.normal if away else surface.normal


def box(
    kind: SurfaceKind, low: ArrayLike, high: ArrayLike, colour: Colour, name: str = ""
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
