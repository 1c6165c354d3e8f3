"""Windows and doors: casing, sashes, panes with a room behind, panels."""

from __future__ import annotations

import zlib

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.model import Face
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.surface import BLACK, Colour, Surface, flat, newell

F = NDArray[np.float64]

#: Linear radiance of lamp-lit rooms behind the glass (about 2700 K), before exposure.
ROOM: Colour = (0.95, 0.50, 0.165)
TRIM: Colour = (0.62, 0.61, 0.57)
GLASS: Colour = (0.03, 0.035, 0.04)
#: Casing and sash widths, and how far they stand proud of the wall (m).
CASING, SASH, PROUD = 0.09, 0.045, 0.03
#: A door wider than this is a garage's (m).
GARAGE = 1.8
#: Panes are about this wide and high (m).
PANE = (0.55, 0.62)


def opening(face: Face, look: Look) -> list[Surface | None]:
    """Return the surfaces of a window or door whose face is its clear opening."""
    normal = newell(face.corners)
    if normal is None or len(face.corners) != 4:
        return [flat(face.kind, face.corners, face.colour, face.name)]
    place = _Frame(face.corners, normal)
    w, h = place.size
    below = CASING if face.kind == "window" else 0.0
    made = [place.quad("trim", -CASING, -below, w + CASING, h + CASING, 1, TRIM, face.name)]
    if face.kind == "door":
        return [*made, *_door(place, face)]
    lit = BLACK if look.time == "day" else _room(face.name)
    made.append(place.quad("glass", 0, 0, w, h, 2, GLASS, face.name, lit))
    if any(lit) and w > 0.8:  # drawn curtains at both sides, lit from within
        cloth = (0.62 * lit[0], 0.52 * lit[1], 0.42 * lit[2])
        for left, right in ((0.0, 0.17 * w), (0.83 * w, w)):
            made.append(place.quad("curtain", left, 0, right, h, 2.5, GLASS, face.name, cloth))
    across, up = (max(1, round(size / pane)) for size, pane in zip((w, h), PANE, strict=True))
    half = SASH / 2
    for n in range(across + 1):
        x = n * w / across
        made.append(place.quad("trim", x - half, 0, x + half, h, 3, TRIM, face.name))
    for n in range(up + 1):
        y = n * h / up
        made.append(place.quad("trim", 0, y - half, w, y + half, 3, TRIM, face.name))
    sill = place.quad("trim", -CASING, -0.05, w + CASING, 0.0, 4, TRIM, face.name)
    return [*made, sill]


def _door(place: _Frame, face: Face) -> list[Surface | None]:
    w, h = place.size
    made = [place.quad("door", 0, 0, w, h, 2, face.colour, face.name)]
    wide = w > GARAGE  # its door lifts in four sections
    rows, columns = (4, max(2, round(w / 0.9))) if wide else (2, 2)
    x, y = ((0.06, 0.94), (0.16, 0.84)) if wide else ((0.14, 0.86), (0.10, 0.90))
    for row in range(rows):
        for column in range(columns):
            left, right = ((column + part) * w / columns for part in x)
            low, high = ((row + part) * h / rows for part in y)
            made += _panel(place, face, (left, low, right, high))
    if wide:
        for row in range(1, rows):
            y0 = row * h / rows
            made.append(
                place.quad(
                    "door", 0, y0 - 0.012, w, y0 + 0.012, 3, _shade(face.colour, 0.45), face.name
                )
            )
    return made


def _panel(
    place: _Frame, face: Face, span: tuple[float, float, float, float]
) -> list[Surface | None]:
    """Return a sunk panel: its upper and left rims in shade, its field a little darker."""
    left, low, right, high = span
    rim = 0.025
    return [
        place.quad("door", left, low, right, high, 3, _shade(face.colour, 0.55), face.name),
        place.quad(
            "door", left + rim, low, right, high - rim, 4, _shade(face.colour, 0.86), face.name
        ),
    ]


def _shade(colour: Colour, part: float) -> Colour:
    return (part * colour[0], part * colour[1], part * colour[2])


class _Frame:
    """Level and upright axes on an opening, from its lower left corner seen from outside."""

    def __init__(self, corners: F, normal: F) -> None:
        across = np.cross([0.0, 0.0, 1.0], normal)
        self.across = across / max(float(np.linalg.norm(across)), 1e-9)
        self.up = np.cross(normal, self.across)
        self.normal = normal
        at = np.stack([corners @ self.across, corners @ self.up], axis=1)
        low, high = at.min(0), at.max(0)
        self.size = (float(high[0] - low[0]), float(high[1] - low[1]))
        depth = float(corners[0] @ normal)
        self.origin = low[0] * self.across + low[1] * self.up + depth * normal

    def quad(
        self,
        kind: str,
        left: float,
        low: float,
        right: float,
        high: float,
        layer: float,
        colour: Colour,
        name: str,
        glow: Colour = BLACK,
    ) -> Surface | None:
        """Make a rectangle; each ``layer`` lies a little further out than the one before."""
        base = self.origin + self.normal * (PROUD * (0.4 + 0.2 * layer))
        outline = ((left, low), (right, low), (right, high), (left, high))
        corners = [base + x * self.across + y * self.up for x, y in outline]
        return flat(kind, corners, colour, name, glow)


def _room(name: str) -> Colour:
    """Return a window's own light: most rooms are lit, some dimly; the name decides."""
    level = (0.30, 0.60, 0.8, 1.0)[zlib.crc32(name.encode()) % 4]
    return (ROOM[0] * level, ROOM[1] * level, ROOM[2] * level)
