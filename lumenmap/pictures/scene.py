"""`Scene`: the surfaces that the picture shows, from the house's faces."""

from __future__ import annotations

import zlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.model import House

F = NDArray[np.float64]

#: Linear reflectance of grass and soil by night.
GROUND = (0.045, 0.06, 0.035)
#: Linear radiance of lamp-lit rooms behind the glass (about 2700 K), before exposure.
ROOM = (0.42, 0.24, 0.085)
#: Windows and doors stand this far proud of their wall, so that the wall does not hide them (m).
PROUD = 0.03


@dataclass(frozen=True, slots=True, eq=False)
class Surface:
    """A flat piece: (K, 3) corners in m, outward unit normal, linear reflectance, own light."""

    kind: str
    corners: F
    normal: F
    colour: tuple[float, float, float]
    glow: tuple[float, float, float] = (0.0, 0.0, 0.0)


def scene(house: House) -> tuple[Surface, ...]:
    """Return the surfaces of the house and the ground, the ground last."""
    found = []
    for face in house.faces:
        normal = newell(face.corners)
        if normal is None:
            continue
        corners = face.corners
        if face.kind in ("window", "door"):
            corners = corners + PROUD * normal
        glow = _room(face.name) if face.kind == "window" else (0.0, 0.0, 0.0)
        found.append(Surface(face.kind, corners, normal, face.colour, glow))
    up = np.array([0.0, 0.0, 1.0])
    points = np.concatenate([s.corners for s in found]) if found else np.zeros((1, 3))
    low, high = points.min(0) - 400, points.max(0) + 400
    lawn = np.array(
        [[low[0], low[1], 0], [high[0], low[1], 0], [high[0], high[1], 0], [low[0], high[1], 0]]
    )
    return (*found, Surface("ground", lawn, up, GROUND))


def newell(corners: F) -> F | None:
    """Return the unit normal of a polygon by Newell's method, or None if it has no area."""
    after = np.roll(corners, -1, axis=0)
    normal = np.cross(corners, after).sum(0)
    size = float(np.linalg.norm(normal))
    return normal / size if size > 1e-9 else None


def _room(name: str) -> tuple[float, float, float]:
    """Return a window's own light: most rooms are lit, some dimly; the name decides."""
    level = (0.05, 0.35, 0.6, 1.0)[zlib.crc32(name.encode()) % 4]
    return (ROOM[0] * level, ROOM[1] * level, ROOM[2] * level)
