"""Roof shapes: gable, hip, shed and flat, as named corners, edges and planes; where planes meet.

Dimensions are as a tape measures them: walls are ``width`` by ``depth``; the roof's lower edge is
``overhang`` outside them, measured level, and ``eave`` above the floor. The roof rises from that
edge, so it meets the wall's face ``slope × overhang`` higher.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from lumenmap.core.errors import InputError
from lumenmap.house.masses.kinds import EdgeKind, RoofShape, Side
from lumenmap.house.masses.mass import Mass, Points
from lumenmap.house.masses.shape import OUTWARD, SIDES, Shape
from lumenmap.solids.planes import crossing, normal, parallel

#: The corners at the ends of each side, in counter-clockwise order.
ENDS: dict[Side, tuple[str, str]] = {
    "front": ("front-left", "front-right"),
    "right": ("front-right", "back-right"),
    "back": ("back-right", "back-left"),
    "left": ("back-left", "front-left"),
}
#: The corners of the roof, counter-clockwise, by their two sides.
CORNERS: tuple[tuple[Side, Side], ...] = (
    ("front", "left"),
    ("front", "right"),
    ("back", "right"),
    ("back", "left"),
)
OPPOSITE: dict[Side, Side] = {"front": "back", "back": "front", "left": "right", "right": "left"}


def roof(mass: Mass) -> Shape:
    """Return a mass with its roof: corners, edges and planes, but no walls."""
    return ROOFS[mass.roof](replace(mass, slope=0.0) if mass.roof == "flat" else mass)


def _outline(mass: Mass) -> Shape:
    """Return a shape with the four corners of the roof's outline, all at the eave's height."""
    shape = Shape(mass)
    o, w, d, z = mass.overhang, mass.width, mass.depth, mass.eave
    shape.corner("front-left", -o, -o, z)
    shape.corner("front-right", w + o, -o, z)
    shape.corner("back-right", w + o, d + o, z)
    shape.corner("back-left", -o, d + o, z)
    return shape


def _eave(shape: Shape, side: Side, kind: EdgeKind = "eave", plane: str | None = None) -> None:
    name = f"{kind}-{side}"
    shape.edge(name, kind, ENDS[side], OUTWARD[side], plane or f"roof-{side}", fascia=True)


def gable(mass: Mass) -> Shape:
    """Two planes that meet at a ridge, with a vertical gable wall at each end.

    ``mass.ridge`` is ``away`` (from front to back: the gable faces front) or ``across``.
    """
    shape = _outline(mass)
    o, s, mid_x, mid_y = mass.overhang, mass.slope, mass.width / 2, mass.depth / 2
    if mass.ridge == "away":
        top = mass.eave + s * (mid_x + o)
        shape.corner("peak-front", mid_x, -o, top)
        shape.corner("peak-back", mid_x, mass.depth + o, top)
        ridge = ("peak-front", "peak-back")
    else:
        top = mass.eave + s * (mid_y + o)
        shape.corner("peak-left", -o, mid_y, top)
        shape.corner("peak-right", mass.width + o, mid_y, top)
        ridge = ("peak-left", "peak-right")
    across: tuple[Side, ...] = ("left", "right")
    along: tuple[Side, ...] = ("front", "back")
    ends, eaves = (along, across) if mass.ridge == "away" else (across, along)
    shape.eave_sides = eaves
    for side in eaves:
        _eave(shape, side)
        a, b = ENDS[side]
        shape.plane(f"roof-{side}", a, b, *_nearest_first(ridge, b))
    for end in ends:
        _rakes(shape, end)
        wall: dict[Side, tuple[float, float]] = {
            "front": (mid_x, 0.0),
            "back": (mid_x, mass.depth),
            "left": (0.0, mid_y),
            "right": (mass.width, mid_y),
        }
        shape.gable_peaks[end] = (*wall[end], top)
    shape.edge("ridge", "ridge", ridge, (0, 0, 1))
    return shape


def _nearest_first(peaks: tuple[str, str], corner: str) -> list[str]:
    """Return the ridge's ends, the one nearer to ``corner`` first."""
    return sorted(peaks, key=lambda p: p.removeprefix("peak-") not in corner)


def _rakes(shape: Shape, end: Side) -> None:
    """Add the two rakes of a gable end: up to its peak and down again, counter-clockwise."""
    a, b = ENDS[end]
    for start, stop, corner in ((a, f"peak-{end}", a), (f"peak-{end}", b, b)):
        # "rake-left" at the front, "back-rake-left" behind it, "rake-left-front" at a side.
        along = next(w for w in corner.split("-") if w != end)
        names: dict[Side, str] = {"front": f"rake-{along}", "back": f"back-rake-{along}"}
        shape.edge(
            names.get(end, f"rake-{end}-{along}"),
            "rake",
            (start, stop),
            OUTWARD[end],
            f"roof-{along}",
            fascia=True,
        )


def hip(mass: Mass) -> Shape:
    """Four planes of one slope; the ridge runs the longer way, or is a peak on a square.

    Seen from above the hips run at 45 degrees, which makes the rise of all planes equal.
    """
    shape = _outline(mass)
    o, s, w, d = mass.overhang, mass.slope, mass.width, mass.depth
    half = min(w, d) / 2 + o
    top = mass.eave + s * half
    if w < d:
        first, last = ("peak-front", (w / 2, half - o)), ("peak-back", (w / 2, d + o - half))
    else:
        first, last = ("peak-left", (half - o, d / 2)), ("peak-right", (w + o - half, d / 2))
    for name, (x, y) in (first, last):
        shape.corner(name, x, y, top)
    shape.eave_sides = SIDES
    for one, two in CORNERS:
        corner = f"{one}-{two}"
        peak = _nearest_first((first[0], last[0]), corner)[0]
        x, y = np.add(OUTWARD[one], OUTWARD[two])[:2]
        shape.edge(f"hip-{corner}", "hip", (corner, peak), (x, y, 1))
    for side in SIDES:
        _eave(shape, side)
        a, b = ENDS[side]
        own = f"peak-{side}"
        peaks = [own] if own in shape.corners else _nearest_first((first[0], last[0]), b)
        shape.plane(f"roof-{side}", a, b, *peaks)
    shape.edge("ridge", "ridge", (first[0], last[0]), (0, 0, 1))
    return shape


def shed(mass: Mass) -> Shape:
    """One plane that rises towards the side ``mass.high``; its upper edge is called the ridge."""
    shape = _outline(mass)
    high, low = mass.high, OPPOSITE[mass.high]
    o, s = mass.overhang, mass.slope
    run = (mass.depth if high in ("front", "back") else mass.width) + 2 * o
    for corner in ENDS[high]:
        shape.corners[corner][2] = mass.eave + s * run
    shape.eave_sides = (low,)
    shape.plane("roof", *ENDS["front"], *ENDS["back"])
    _eave(shape, low, plane="roof")
    for side in SIDES:
        if side not in (high, low):
            _eave(shape, side, "rake", plane="roof")
    shape.edge("ridge", "ridge", ENDS[high], OUTWARD[high], "roof", fascia=True)
    return shape


def flat(mass: Mass) -> Shape:
    """One level plane with an eave on every side."""
    shape = _outline(mass)
    shape.eave_sides = SIDES
    shape.plane("roof", *ENDS["front"], *ENDS["back"])
    for side in SIDES:
        _eave(shape, side, plane="roof")
    return shape


ROOFS: dict[RoofShape, Callable[[Mass], Shape]] = {
    "gable": gable,
    "hip": hip,
    "shed": shed,
    "flat": flat,
}


def intersection(one: Points, two: Points) -> tuple[Points, Points]:
    """Return the line (2, 3) that two convex roof planes share, low end first, and its facing.

    Raises
    ------
    InputError
        The planes are parallel, or don't meet.
    """
    if parallel(one, two):
        raise InputError("their roof planes are parallel, so there is no valley between them")
    ends = crossing(one, two)
    if ends is None:
        raise InputError("their roof planes don't meet: does the lower roof reach into the other?")
    facing = normal(one) + normal(two)
    return (ends if ends[0, 2] <= ends[1, 2] else ends[::-1]), facing / np.linalg.norm(facing)
