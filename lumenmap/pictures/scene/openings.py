"""Windows and doors: casing, sashes, panes with a lit room behind, panels."""

from __future__ import annotations

import zlib
from typing import NamedTuple, cast

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.model import Face
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.surface import BLACK, Colour, Surface, SurfaceKind, flat, newell
from lumenmap.solids.planes import level_axes

F = NDArray[np.float64]

#: Linear radiance of lit rooms behind the glass (about 2700 K), before exposure.
ROOM: Colour = (0.95, 0.50, 0.165)
TRIM: Colour = (0.62, 0.61, 0.57)
GLASS: Colour = (0.03, 0.035, 0.04)
#: Widths of casing and sash, and how far they protrude from the wall (m).
CASING, SASH, PROUD = 0.09, 0.045, 0.03
#: A door wider than this is a garage door (m).
GARAGE = 1.8
#: Approximate width and height of a pane (m).
PANE = (0.55, 0.62)


class _Span(NamedTuple):
    """A rectangle on an opening: m from its lower left corner."""

    left: float
    low: float
    right: float
    high: float


def opening(face: Face, look: Look) -> list[Surface | None]:
    """Return the surfaces of a window or door whose face is its clear opening."""
    normal = newell(face.corners)
    if normal is None or len(face.corners) != 4:
        return [flat(cast(SurfaceKind, face.kind), face.corners, face.colour, face.name)]
    frame = _Frame(face, normal)
    w, h = frame.size
    below = CASING if face.kind == "window" else 0.0
    casing = _Span(-CASING, -below, w + CASING, h + CASING)
    made = [frame.quad("trim", casing, 1, TRIM)]
    if face.kind == "door":
        return [*made, *_door(frame, face.colour)]
    lit = BLACK if look.time == "day" else _room(face.name)
    made.append(frame.quad("glass", _Span(0, 0, w, h), 2, GLASS, lit))
    if any(lit) and w > 0.8:  # drawn curtains at both sides, lit from within
        cloth = (0.62 * lit[0], 0.52 * lit[1], 0.42 * lit[2])
        for left, right in ((0.0, 0.17 * w), (0.83 * w, w)):
            made.append(frame.quad("curtain", _Span(left, 0, right, h), 2.5, GLASS, cloth))
    across, up = (max(1, round(size / pane)) for size, pane in zip((w, h), PANE, strict=True))
    half = SASH / 2
    for n in range(across + 1):
        x = n * w / across
        made.append(frame.quad("trim", _Span(x - half, 0, x + half, h), 3, TRIM))
    for n in range(up + 1):
        y = n * h / up
        made.append(frame.quad("trim", _Span(0, y - half, w, y + half), 3, TRIM))
    sill = frame.quad("trim", _Span(-CASING, -0.05, w + CASING, 0.0), 4, TRIM)
    return [*made, sill]


def _door(frame: _Frame, colour: Colour) -> list[Surface | None]:
    w, h = frame.size
    made = [frame.quad("door", _Span(0, 0, w, h), 2, colour)]
    wide = w > GARAGE  # its door lifts in four sections
    rows, columns = (4, max(2, round(w / 0.9))) if wide else (2, 2)
    x, y = ((0.06, 0.94), (0.16, 0.84)) if wide else ((0.14, 0.86), (0.10, 0.90))
    for row in range(rows):
        for column in range(columns):
            left, right = ((column + part) * w / columns for part in x)
            low, high = ((row + part) * h / rows for part in y)
            made += _panel(frame, colour, _Span(left, low, right, high))
    if wide:
        for row in range(1, rows):
            y0 = row * h / rows
            joint = _Span(0, y0 - 0.012, w, y0 + 0.012)
            made.append(frame.quad("door", joint, 3, _shade(colour, 0.45)))
    return made


def _panel(frame: _Frame, colour: Colour, span: _Span) -> list[Surface | None]:
    """Return a recessed panel: its upper and left edges in shade, its field a little darker."""
    rim = 0.025
    field = _Span(span.left + rim, span.low, span.right, span.high - rim)
    return [
        frame.quad("door", span, 3, _shade(colour, 0.55)),
        frame.quad("door", field, 4, _shade(colour, 0.86)),
    ]


def _shade(colour: Colour, part: float) -> Colour:
    return (part * colour[0], part * colour[1], part * colour[2])


class _Frame:
    """Level and vertical axes on an opening, from its lower left corner seen from outside."""

    def __init__(self, face: Face, normal: F) -> None:
        self.name, corners = face.name, face.corners
        self.across, self.up = level_axes(normal)
        self.normal = normal
        at = np.stack([corners @ self.across, corners @ self.up], axis=1)
        low, high = at.min(0), at.max(0)
        self.size = (float(high[0] - low[0]), float(high[1] - low[1]))
        depth = float(corners[0] @ normal)
        self.origin = low[0] * self.across + low[1] * self.up + depth * normal

    def quad(
        self, kind: SurfaceKind, span: _Span, layer: float, colour: Colour, glow: Colour = BLACK
    ) -> Surface | None:
        """Make a rectangle; each ``layer`` is a little further out than the one before."""
        base = self.origin + self.normal * (PROUD * (0.4 + 0.2 * layer))
        left, low, right, high = span
        outline = ((left, low), (right, low), (right, high), (left, high))
        corners = [base + x * self.across + y * self.up for x, y in outline]
        return flat(kind, corners, colour, self.name, glow)


def _room(name: str) -> Colour:
    """Return the light of a window: most rooms are lit, some dimly, decided by the name."""
    level = (0.30, 0.60, 0.8, 1.0)[zlib.crc32(name.encode()) % 4]
    return (ROOM[0] * level, ROOM[1] * level, ROOM[2] * level)
