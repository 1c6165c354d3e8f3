"""Lines drawn on a photograph, on a wall or roof plane of the house, as edges of the house file.

From a known camera, the ray through each point of the photograph meets the named plane in one
point: lengths on a plane need no more (Criminisi, Reid and Zisserman, "Single view metrology",
2000 [P]).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.lens.shot import Shot
from lumenmap.camera.marks.file import TraceTable
from lumenmap.core.errors import InputError, unknown
from lumenmap.core.lengths import show_length
from lumenmap.house.model import Face, House
from lumenmap.solids.planes import normal

F = NDArray[np.float64]

#: A plane seen at a smaller angle than this is no good for lengths (rad).
FLATTEST = math.radians(8)
#: Points are kept on a plane up to this part of its own size beyond it.
BEYOND = 1.0
#: Further off a plane's outline than eaves stand out, as a rule (m) [C]: a line left the plane.
OUTSIDE = 0.6
#: Kinds of faces that lines are drawn on.
DRAWN_ON = ("wall", "roof", "fascia", "soffit", "door", "window")
_SIDES = {(0, -1): "front", (1, 0): "right", (0, 1): "back", (-1, 0): "left"}


@dataclass(frozen=True, slots=True, eq=False)
class Traced:
    """A line: its points (K, 3) m, the face that it is on, how exact its length is (m).

    ``outside`` (K,) is how far each point is off the face's outline (m).
    """

    name: str
    points: F
    face: Face
    exact: float
    outside: F

    @property
    def length(self) -> float:
        """Its length, m."""
        return float(np.linalg.norm(np.diff(self.points, axis=0), axis=1).sum())

    def words(self, house: House) -> list[str]:
        """Return its length, and its [[edge]] for the house file."""
        unit = house.unit
        rows = [
            ", ".join(_quoted(value, unit) for value in point.tolist()) for point in self.points
        ]
        return [
            *self._doubt(unit),
            f'"{self.name}" on "{self.face.name}" is {show_length(self.length, unit)} long, to '
            f"about {show_length(self.exact, unit)}. For the house file:",
            "[[edge]]",
            f'name = "{self.name}"',
            f"points = [{', '.join(f'[{row}]' for row in rows)}]",
            f"facing = {_facing(self.face)}",
        ]

    def _doubt(self, unit: str) -> list[str]:
        worst = int(np.argmax(self.outside))
        if self.outside[worst] < OUTSIDE + self.exact:
            return []
        return [
            f'WARNING: point {worst + 1} of "{self.name}" lies '
            f'{show_length(float(self.outside[worst]), unit)} outside "{self.face.name}". Where a '
            "line goes round a corner, its lengths are wrong from there on: draw the rest as a "
            "trace of its own, on the wall or roof plane that it goes on along."
        ]


def _quoted(value: float, unit: str) -> str:
    return f'"{show_length(value, unit)}"'


def _facing(face: Face) -> str:
    """Return the direction out of a face as house files write it."""
    x, y, z = normal(face.corners)
    if abs(z) > 0.3:
        return '"up"' if face.kind == "roof" or z > 0 else '"down"'
    for (a, b), name in _SIDES.items():
        if x * a + y * b > 1 - 1e-6:
            return f'"{name}"'
    return f'"{math.degrees(math.atan2(y, x)):.1f} deg"'


def trace(table: TraceTable, shot: Shot, house: House, care: float) -> Traced:
    """Return a drawn line in the house's coordinates.

    Parameters
    ----------
    care
        How exactly points are marked, in pixels.

    Raises
    ------
    InputError
        No such face, one seen edge-on, a point beyond it, or the name of another edge.
    """
    faces = {f.name: f for f in house.faces if f.kind in DRAWN_ON}
    key = f'trace "{table.name}"'
    if table.on not in faces:
        raise InputError(
            unknown("wall or roof plane", table.on, faces, plural="Planes"), key=f"{key}, on"
        )
    if table.name in house.edges:
        raise InputError("another edge has this name", key=key)
    face = faces[table.on]
    places = np.array(table.points, np.float64)
    points, slant = _on_plane(shot, places, face)
    if slant.min() < math.sin(FLATTEST):
        raise InputError(f'sees "{face.name}" edge-on; choose another photograph', key=key)
    low, high = face.corners.min(0), face.corners.max(0)
    room = BEYOND * float(np.linalg.norm(high - low))
    if ((points < low - room) | (points > high + room)).any() or not np.isfinite(points).all():
        raise InputError(f'a point lies far beyond "{face.name}"', key=f"{key}, points")
    steps = np.linalg.norm(np.diff(points, axis=0), axis=1)
    if steps.min() < 1e-3:
        raise InputError("two points in a row are the same", key=f"{key}, points")
    depth = np.linalg.norm(points - shot.position, axis=1)
    exact = math.sqrt(2) * care * float((depth / shot.focal / slant).max())
    return Traced(table.name, points, face, exact, _outside(points, face))


def _outside(points: F, face: Face) -> F:
    """Return how far points (K, 3) on a face's plane are off its outline; 0 inside it."""
    starts = face.corners
    sides = np.roll(starts, -1, axis=0) - starts
    off = points[:, None] - starts
    along = np.clip((off * sides).sum(-1) / (sides**2).sum(-1), 0, 1)
    away = np.linalg.norm(off - along[..., None] * sides, axis=-1).min(1)
    # The outline turns once round what is inside it, and not at all round the rest.
    ends = np.roll(off, -1, axis=1)
    turn = np.arctan2(np.cross(off, ends) @ normal(starts), (off * ends).sum(-1)).sum(1)
    return np.where(np.abs(turn) > math.pi, 0.0, away)


def _on_plane(shot: Shot, places: F, face: Face) -> tuple[F, F]:
    """Return where rays through places (K, 2) meet a plane, and the sines of their angles."""
    rays = shot.rays(places)
    n = normal(face.corners)
    slant = rays @ n
    size = np.linalg.norm(rays, axis=1)
    far = float((face.corners[0] - shot.position) @ n)
    along = far / np.where(np.abs(slant) < 1e-9, 1e-9, slant)
    points = np.where(along[:, None] > 0, shot.position + along[:, None] * rays, np.inf)
    return points, np.abs(slant) / size
