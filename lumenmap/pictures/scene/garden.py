"""The surroundings of the house: lawn, path, steps, street, trees, shrubs, a street lamp."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lumenmap.house.model import Face, House
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.surface import BLACK, Colour, Surface, SurfaceKind, box, flat

F = NDArray[np.float64]

#: Linear reflectances, by eye: grass, concrete, asphalt, needles, shrubs, bark, painted steel.
LAWN: Colour = (0.050, 0.075, 0.032)
CONCRETE: Colour = (0.26, 0.25, 0.23)
ASPHALT: Colour = (0.070, 0.070, 0.075)
NEEDLES: Colour = (0.022, 0.040, 0.024)
SHRUB: Colour = (0.035, 0.062, 0.028)
BARK: Colour = (0.050, 0.036, 0.026)
STEEL: Colour = (0.04, 0.045, 0.045)
#: Linear radiance of the street lamp's lantern, the colour of sodium light.
LANTERN: Colour = (6.0, 3.4, 1.1)
#: Rise and going of a stair (m): the International Residential Code allows 7 3/4 in at most and
#: 10 in at least (from memory).
RISE, GOING = 0.18, 0.28
#: Distance from the front of the house to the near kerb (m).
YARD = 6.5


def garden(house: House, look: Look) -> list[Surface]:
    """Return the surfaces around the house, the lawn last."""
    parts = [f.corners for f in house.faces] + [e.points for e in house.edges.values()]
    points = np.concatenate(parts) if parts else np.zeros((1, 3))
    low, high = points.min(0), points.max(0)
    made: list[Surface | None] = []
    doors = sorted(
        (f for f in house.faces if f.kind == "door"), key=lambda f: float(f.corners[:, 1].mean())
    )
    for door in doors[:1]:
        made += _way_in(door, low[1] - YARD)
    kerb = low[1] - YARD
    left, right = low[0] - 200, high[0] + 200
    made.append(_level("street", (left, kerb - 7), (right, kerb), 0.01, ASPHALT))
    made.append(_level("path", (left, kerb), (right, kerb + 0.3), 0.02, CONCRETE))
    if look.trees:
        made += _trees(low, high)
        made += _shrubs(house, [d.corners for d in doors])
    if look.street_lamp:
        made += street_lamp(low, high, lit=look.time != "day")
    made.append(_level("ground", low[:2] - 400, high[:2] + 400, 0, LAWN))
    return [s for s in made if s is not None]


def _level(
    kind: SurfaceKind, low: ArrayLike, high: ArrayLike, z: float, colour: Colour
) -> Surface | None:
    """Return a level rectangle between two corners (x, y)."""
    (left, near), (right, far) = np.asarray(low), np.asarray(high)
    corners = [(left, near, z), (right, near, z), (right, far, z), (left, far, z)]
    return flat(kind, corners, colour, kind)


def _way_in(door: Face, kerb: float) -> Iterator[Surface | None]:
    """Yield steps from the door's sill down to the ground, and a path to the street."""
    low, high = door.corners.min(0), door.corners.max(0)
    middle, half = float(low[0] + high[0]) / 2, 0.75
    front = float(low[1])
    if high[0] - low[0] < 0.3:  # a door in a side wall has no path drawn
        return
    count = max(0, round(float(low[2]) / RISE))
    reach = front - 0.9 if count else front
    if count:
        rise = float(low[2]) / count
        yield from box(
            "step",
            (middle - half, reach, 0),
            (middle + half, front, count * rise),
            CONCRETE,
            "step",
        )
        for n in range(1, count):
            reach -= GOING
            top = (middle + half, reach + GOING, (count - n) * rise)
            yield from box("step", (middle - half, reach, 0), top, CONCRETE, "step")
    yield _level("path", (middle - 0.6, kerb), (middle + 0.6, reach), 0.015, CONCRETE)


def _trees(low: F, high: F) -> Iterator[Surface | None]:
    """Yield conifers behind the house and at its sides, scaled to the house."""
    wide, tall = float(high[0] - low[0]), max(float(high[2]), 3.0)
    places = (
        (low[0] - 0.42 * wide - 2.0, high[1] + 1.0, 1.25),
        (low[0] - 0.16 * wide - 2.5, high[1] + 5.0, 0.95),
        (high[0] + 0.22 * wide + 2.0, high[1] + 3.0, 1.12),
        (high[0] + 0.55 * wide + 4.0, high[1] + 0.0, 0.86),
        (high[0] + 0.80 * wide + 7.0, high[1] + 7.0, 1.30),
        (low[0] - 0.90 * wide - 5.0, high[1] + 4.0, 1.05),
        (low[0] + 0.30 * wide, high[1] + 10.0, 1.70),
        (low[0] + 0.78 * wide, high[1] + 13.0, 2.05),
        (high[0] + 0.05 * wide + 1.0, high[1] + 9.0, 1.45),
    )
    for n, (x, y, scale) in enumerate(places):
        yield from _conifer(float(x), float(y), tall * scale, 0.37 * n)


def _conifer(x: float, y: float, tall: float, turn: float) -> Iterator[Surface | None]:
    """Yield crossed vertical sheets with drooping tiers, and a trunk."""
    tiers, reach = 26, 0.20 * tall
    for plane in (0.0, math.pi / 2):
        across = np.array([math.cos(plane + turn * 0.2), math.sin(plane + turn * 0.2), 0])
        sides = []
        for side in (1, -1):
            line: list[tuple[float, float]] = []
            for n in range(tiers):
                part = n / tiers
                z = tall * (0.07 + 0.91 * part)
                odd = math.sin(12.9898 * (n + 31 * turn + 7 * side + plane)) * 43.7585
                odd -= math.floor(odd)
                out = reach * (1 - part) ** 0.85 * (0.70 + 0.45 * odd) + 0.02
                line += [
                    (side * out, z - (0.030 - 0.012 * odd) * tall),
                    (side * 0.62 * out, z + 0.35 * tall / tiers),
                ]
            sides.append(line)
        outline = [*sides[0], (0.0, tall), *sides[1][::-1]]
        corners = [np.array([x, y, z]) + u * across for u, z in outline]
        yield flat("tree", corners, NEEDLES, "tree")
    half = 0.02 * tall
    yield flat(
        "tree",
        [
            (x - half, y, 0),
            (x + half, y, 0),
            (x + half, y, 0.12 * tall),
            (x - half, y, 0.12 * tall),
        ],
        BARK,
        "trunk",
    )


def _shrubs(house: House, doors: list[F]) -> Iterator[Surface | None]:
    """Yield low shrubs along walls that face the street, clear of the doors."""
    walls: dict[str | None, list[F]] = {}
    for face in house.faces:
        if face.kind == "wall":
            walls.setdefault(face.mass, []).append(face.corners)
    plans = [np.concatenate(corners) for corners in walls.values()]
    for face in house.faces:
        if face.kind != "wall":
            continue
        low, high = face.corners.min(0), face.corners.max(0)
        a, b = face.corners[0], face.corners[1]
        if high[1] - low[1] > 0.3 or low[2] > 0.5 or b[0] - a[0] < 2:  # not a front wall
            continue
        count = int((high[0] - low[0]) / 1.5)
        for n in range(count):
            x = float(low[0] + (n + 0.5) * (high[0] - low[0]) / count)
            size = 0.36 + 0.16 * math.sin(2.4 * n + x) ** 2
            if any(_before(door, x, 1.4 * size) for door in doors):
                continue
            y = float(low[1]) - 0.5
            if not any(_reaches(plan, x, y, 1.4 * size) for plan in plans):
                yield _shrub(x, y, size)


def _reaches(plan: F, x: float, y: float, half: float) -> bool:
    """Return whether a shrub reaches into the bounds of a mass."""
    low, high = plan.min(0), plan.max(0)
    return bool(low[0] - half < x < high[0] + half and low[1] - 0.1 < y < high[1])


def _before(door: F, x: float, half: float) -> bool:
    """Return whether a shrub stands in the way of a door, or before it."""
    low, high = door[:, 0].min(), door[:, 0].max()
    clear = max(1.35 - (high - low) / 2, half)
    return bool(low - clear < x < high + clear)


def _shrub(x: float, y: float, size: float) -> Surface | None:
    """Return a leafy dome as a vertical sheet."""
    angles = np.linspace(0, math.pi, 61)
    bumpy = 1 + 0.07 * np.sin(7 * angles + 5 * x) + 0.05 * np.sin(19 * angles + 3 * x)
    bumpy += 0.03 * np.sin(47 * angles + x)
    outline = np.stack(
        [
            x + 1.25 * size * bumpy * np.cos(angles),
            np.full(61, y),
            1.15 * size * bumpy * np.sin(angles),
        ],
        axis=1,
    )
    return flat("shrub", outline, SHRUB, "shrub")


def lantern_place(low: F, high: F) -> tuple[float, float, float]:
    """Return the position of the street lamp's lantern, to the right of the house."""
    return float(high[0]) + 0.5, float(low[1]) + 3.0, 3.4


def street_lamp(low: F, high: F, *, lit: bool) -> list[Surface]:
    """Return a post with a lantern."""
    x, y, z = lantern_place(low, high)
    post = box("post", (x - 0.05, y - 0.05, 0), (x + 0.05, y + 0.05, z - 0.35), STEEL)
    cap = box("post", (x - 0.18, y - 0.18, z + 0.05), (x + 0.18, y + 0.18, z + 0.14), STEEL)
    glow = LANTERN if lit else BLACK
    lamp = box("lantern", (x - 0.13, y - 0.13, z - 0.35), (x + 0.13, y + 0.13, z + 0.05), CONCRETE)
    shining = [Surface(s.kind, s.corners, s.normal, s.colour, glow, "lantern") for s in lamp]
    return [*post, *cap, *shining]
