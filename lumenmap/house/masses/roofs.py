"""Roof shapes: gable, hip, shed and flat, as named corners, edges and planes; where planes meet.

Dimensions are as a tape measures them: walls are ``width`` by ``depth``; the roof's lower edge is
``overhang`` outside them, measured level, and ``eave`` above the floor. The roof rises from that
edge, so it meets the wall's face ``slope × overhang`` higher. All planes of a roof meet the walls
at one height, as rafters on a plate do: where overhangs differ, the deepest eave is the lowest.
"""

from __future__ import annotations

from collections.abc import Callable

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
    return ROOFS[mass.roof](mass._replace(slope=0.0) if mass.roof == "flat" else mass)


def _outline(mass: Mass, eaves: tuple[Side, ...]) -> Shape:
    """Return a shape with the four corners of the roof's outline, on the roof."""
    shape = Shape(mass, eave_sides=eaves)
    o, w, d = mass.overhang, mass.width, mass.depth
    places = {
        "front-left": (-o.left, -o.front),
        "front-right": (w + o.right, -o.front),
        "back-right": (w + o.right, d + o.back),
        "back-left": (-o.left, d + o.back),
    }
    for name, (x, y) in places.items():
        shape.corner(name, x, y, shape.height(x, y))
    return shape


def _eave(shape: Shape, side: Side, kind: EdgeKind = "eave", plane: str | None = None) -> None:
    name = f"{kind}-{side}"
    shape.edge(name, kind, ENDS[side], OUTWARD[side], plane or f"roof-{side}", fascia=True)


def eave_sides(mass: Mass) -> tuple[Side, ...]:
    """Return the sides from whose eaves a roof rises; all sides of a flat one."""
    if mass.roof == "shed":
        return (OPPOSITE[mass.high],)
    if mass.roof != "gable":
        return SIDES
    along: tuple[Side, ...] = ("left", "right") if mass.ridge == "away" else ("front", "back")
    return along if mass.hip_end is None else (*along, mass.hip_end)


def gable(mass: Mass) -> Shape:
    """Two planes that meet at a ridge, with a vertical gable wall at each end, or a hip at one.

    ``mass.ridge`` is ``away`` (from front to back: the gable faces front) or ``across``.
    """
    eaves = eave_sides(mass)
    shape = _outline(mass, eaves)
    o, w, d = mass.overhang, mass.width, mass.depth
    away = mass.ridge == "away"
    ends: tuple[Side, Side] = ("front", "back") if away else ("left", "right")
    half = (w if away else d) / 2
    top = shape.rise(half)
    for end in ends:
        # A hip's plane gets to the ridge as far in from its wall as the others do.
        out = -half if end == mass.hip_end else o.of(end)
        ridge_end = {
            "front": (half, -out),
            "back": (half, d + out),
            "left": (-out, half),
            "right": (w + out, half),
        }[end]
        shape.corner(f"peak-{end}", *ridge_end, top)
    ridge = (f"peak-{ends[0]}", f"peak-{ends[1]}")
    for side in eaves:
        _eave(shape, side)
        a, b = ENDS[side]
        peaks = [f"peak-{side}"] if side in ends else _nearest_first(ridge, b)
        shape.plane(f"roof-{side}", a, b, *peaks)
    for end in ends:
        if end == mass.hip_end:
            for corner in ENDS[end]:
                _hip(shape, corner, f"peak-{end}")
            continue
        _rakes(shape, end)
        wall: dict[Side, tuple[float, float]] = {
            "front": (half, 0.0),
            "back": (half, d),
            "left": (0.0, half),
            "right": (w, half),
        }
        shape.gable_peaks[end] = (*wall[end], top)
    shape.edge("ridge", "ridge", ridge, (0, 0, 1))
    return shape


def _hip(shape: Shape, corner: str, peak: str) -> None:
    """Add the hip from a corner of the outline."""
    one, two = next(sides for sides in CORNERS if "-".join(sides) == corner)
    x, y = np.add(OUTWARD[one], OUTWARD[two])[:2]
    shape.edge(f"hip-{corner}", "hip", (corner, peak), (x, y, 1))


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
    shape = _outline(mass, SIDES)
    w, d = mass.width, mass.depth
    half = min(w, d) / 2
    top = shape.rise(half)
    if w < d:
        first, last = ("peak-front", (half, half)), ("peak-back", (half, d - half))
    else:
        first, last = ("peak-left", (half, half)), ("peak-right", (w - half, half))
    for name, (x, y) in (first, last):
        shape.corner(name, x, y, top)
    for one, two in CORNERS:
        corner = f"{one}-{two}"
        _hip(shape, corner, _nearest_first((first[0], last[0]), corner)[0])
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
    high, low = mass.high, OPPOSITE[mass.high]
    shape = _outline(mass, (low,))
    shape.plane("roof", *ENDS["front"], *ENDS["back"])
    _eave(shape, low, plane="roof")
    for side in SIDES:
        if side not in (high, low):
            _eave(shape, side, "rake", plane="roof")
    shape.edge("ridge", "ridge", ENDS[high], OUTWARD[high], "roof", fascia=True)
    return shape


def flat(mass: Mass) -> Shape:
    """One level plane with an eave on every side."""
    shape = _outline(mass, SIDES)
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
