"""Views of the house: named ones, or a camera placed by position and target."""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.units import length
from lumenmap.pictures.scene.camera import Camera, framed, level
from lumenmap.pictures.scene.lamp import beam
from lumenmap.pictures.scene.shadow import blocked, inside
from lumenmap.pictures.scene.surface import Surface, flat
from lumenmap.site import Site

F = NDArray[np.float64]
ViewName = Literal["street", "front", "from-left", "from-right", "upstairs"]

#: Bearing (rad, clockwise from straight ahead) and eye height (m) of the named views.
NAMED: dict[ViewName, tuple[float | None, float]] = {
    "street": (None, 1.7),
    "front": (0.0, 1.7),
    "from-left": (0.62, 1.7),
    "from-right": (-0.62, 1.7),
    "upstairs": (-0.30, 6.0),
}
#: Angle of the street view from straight ahead (rad).
ASIDE = 0.33
#: The same in an upright picture.
UPRIGHT = 0.55
#: Masses without pixels (a neighbour, a barn) are framed up to this far from those with pixels, as
#: a part of the size of these.
MARGIN = 0.45
#: A visible door counts as much as this part of all pixels.
DOOR = 0.08


class View(NamedTuple):
    """A camera placed by hand: ``position``, ``target`` (m); ``lens`` (mm on full frame, 36 mm)."""

    position: tuple[float, float, float]
    target: tuple[float, float, float]
    lens: float = 35.0


def view_camera(
    site: Site, view: Camera | View | ViewName | None, width: int, height: int
) -> Camera:
    """Return the camera of a view.

    Raises
    ------
    InputError
        An unknown name, an impossible lens, a camera inside the house or with no direction.
    """
    if isinstance(view, View):
        view = _placed(view, width, height)
    if not isinstance(view, Camera):
        name = view or "street"
        if name not in NAMED:
            raise InputError(unknown("view", name, NAMED), key="view")
        bearing, eye = NAMED[name]
        points = _subject(site)

        def from_bearing(bearing: float) -> Camera:
            return framed(points, width, height, bearing=bearing, eye=eye)

        if bearing is None:
            # Upright, from nearer to a corner: a long house then fills more of the picture.
            aside = UPRIGHT if height > width else ASIDE
            sides = [from_bearing(-aside), from_bearing(aside)]
            shown = [_shown(site, side) for side in sides]
            view = sides[int(shown[1] > 1.1 * shown[0])]
        else:
            view = from_bearing(bearing)
    if _within(site, view.position):
        raise InputError("the camera is inside the house; move it outside", key="view")
    return view


def _placed(view: View, width: int, height: int) -> Camera:
    numbers = (*view.position, *view.target, view.lens)
    if not all(math.isfinite(v) and abs(v) < 1e5 for v in numbers):
        raise InputError("expected finite numbers for position, target and lens", key="view")
    if not 8 <= view.lens <= 800:
        raise InputError(f"is {view.lens:g} mm; expected 8 to 800", key="lens")
    position, target = np.array(view.position, float), np.array(view.target, float)
    way = target - position
    flat_way = math.hypot(way[0], way[1])
    if float(np.linalg.norm(way)) < 0.05:
        raise InputError("the camera looks at its own position", key="view")
    focal = view.lens / 36 * width
    turn = level(math.atan2(way[0], way[1]))
    tilt = math.atan2(way[2], flat_way)
    middle = (width / 2, height / 2)
    if abs(tilt) < math.radians(25):  # shift the lens: vertical lines stay vertical
        return Camera(
            position, turn, focal, (middle[0], middle[1] + focal * math.tan(tilt)), width, height
        )
    forward = way / np.linalg.norm(way)
    right = turn[0]
    return Camera(
        position, np.stack([right, np.cross(forward, right), forward]), focal, middle, width, height
    )


def _subject(site: Site) -> F:
    """Return (K, 3) points to frame: masses with pixels, and what is near them."""
    house, pixelmap = site.house, site.pixels
    points = np.concatenate([f.corners for f in house.faces] + [pixelmap.xyz])
    names = {house.edges[name].mass for name in pixelmap.edge_names}
    lit = [f.corners for f in house.faces if f.mass in names and f.mass is not None]
    if not lit and not len(pixelmap.xyz):
        return points
    main = np.concatenate([*lit, pixelmap.xyz])
    low, high = main.min(0), main.max(0)
    margin = MARGIN * (high - low)
    return np.clip(points, low - margin, high + margin)


def _shown(site: Site, camera: Camera) -> float:
    """Return how much a camera sees of the pixels, by their beams, and of the doors."""
    house, pixelmap = site.house, site.pixels
    made = [flat("wall", f.corners, f.colour) for f in house.faces if f.kind in ("wall", "roof")]
    shades = [s for s in made if s is not None]
    doors = np.array([f.corners.mean(0) for f in house.faces if f.kind == "door"]).reshape(-1, 3)
    lamps = pixelmap.xyz + 0.1 * pixelmap.facing
    hidden = blocked(camera.position[None], np.concatenate([lamps, doors]), shades, 0.12)[0]
    towards = camera.position - lamps
    towards /= np.linalg.norm(towards, axis=1, keepdims=True)
    cosine = np.einsum("nk,nk->n", towards, pixelmap.facing).astype(np.float32)
    bright = float(beam(cosine)[~hidden[: len(lamps)]].sum())
    return bright + DOOR * len(lamps) * float((~hidden[len(lamps) :]).sum())


def _within(site: Site, point: F) -> bool:
    """Return whether a point is inside the walls of a mass."""
    masses: dict[str | None, list[Surface]] = {}
    for face in site.house.faces:
        wall = flat("wall", face.corners, face.colour) if face.kind == "wall" else None
        if wall is not None:
            masses.setdefault(face.mass, []).append(wall)
    return any(_enclosed(walls, point) for walls in masses.values())


def _enclosed(walls: list[Surface], point: F) -> bool:
    """Return whether two of three nearly level rays from a point cross an odd number of walls."""
    votes = 0
    for turn in (0.31, 2.17, 4.41):
        way = np.array([math.cos(turn), math.sin(turn), 0.013])
        odd = False
        for wall in walls:
            slant = float(way @ wall.normal)
            if abs(slant) > 1e-9:
                ahead = float((wall.corners[0] - point) @ wall.normal) / slant
                odd ^= ahead > 0 and bool(inside((point + ahead * way)[None], wall)[0])
        votes += odd
    return votes >= 2


def parse_view(stand: str | None, look_at: str | None, lens: float, unit: str = "m") -> View:
    """Read a view from position and target, as ``x,y,z``; bare numbers are in ``unit``.

    Raises
    ------
    InputError
        One is missing, or isn't three numbers.
    """
    places = []
    for key, text in (("stand", stand), ("look_at", look_at)):
        if text is None:
            raise InputError("is missing: `stand` and `look_at` go together", key=key)
        try:
            x, y, z = (float(length(part, unit)) for part in text.split(","))
        except ValueError:
            raise InputError(
                f'is "{text[:60]}"; expected x,y,z such as "12, -40 ft, 5 ft 6 in"', key=key
            ) from None
        places.append((x, y, z))
    return View(places[0], places[1], lens)
