"""Roof shapes: gable, hip, shed and flat, as named corners, edges and planes.

Measures are those of a tape: walls are ``width`` by ``depth``, the roof's lower edge stands
``overhang`` out from them, level, and hangs ``eave`` above the floor. The roof rises from that
edge, so it crosses the wall's face ``slope × overhang`` higher.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from lumenmap.house.model import Mass
from lumenmap.house.shape import OUT, SIDES, Shape

#: The rim's corners at either end of a side, in the order of going round it.
ENDS = {
    "front": ("front-left", "front-right"),
    "right": ("front-right", "back-right"),
    "back": ("back-right", "back-left"),
    "left": ("back-left", "front-left"),
}
OPPOSITE = {"front": "back", "back": "front", "left": "right", "right": "left"}


def roof(mass: Mass) -> Shape:
    """Return a mass with its roof on: corners, edges and planes, and no walls yet."""
    return ROOFS[mass.roof](replace(mass, slope=0.0) if mass.roof == "flat" else mass)


def _rim(mass: Mass) -> Shape:
    """Start a shape with the four corners of the roof's rim, all at the eave's height."""
    shape = Shape(mass)
    o, w, d, z = mass.overhang, mass.width, mass.depth, mass.eave
    shape.corner("front-left", -o, -o, z)
    shape.corner("front-right", w + o, -o, z)
    shape.corner("back-right", w + o, d + o, z)
    shape.corner("back-left", -o, d + o, z)
    return shape


def _eave(shape: Shape, side: str, kind: str = "eave", plane: str | None = None) -> None:
    a, b = ENDS[side]
    shape.edge(f"{kind}-{side}", kind, a, b, OUT[side], plane or f"roof-{side}", below=True)


def gable(mass: Mass) -> Shape:
    """Two planes that meet at a ridge, with an upright gable wall at either end.

    ``mass.ridge`` is ``away`` (from front to back: the gable faces front) or ``across``.
    """
    shape = _rim(mass)
    o, s, mid_x, mid_y = mass.overhang, mass.slope, mass.width / 2, mass.depth / 2
    if mass.ridge == "away":
        top = mass.eave + s * (mid_x + o)
        shape.corner("peak-front", mid_x, -o, top)
        shape.corner("peak-back", mid_x, mass.depth + o, top)
        ends, eaves, ridge = ("front", "back"), ("left", "right"), ("peak-front", "peak-back")
    else:
        top = mass.eave + s * (mid_y + o)
        shape.corner("peak-left", -o, mid_y, top)
        shape.corner("peak-right", mass.width + o, mid_y, top)
        ends, eaves, ridge = ("left", "right"), ("front", "back"), ("peak-left", "peak-right")
    shape.rises = eaves
    for side in eaves:
        _eave(shape, side)
        a, b = ENDS[side]
        shape.plane(f"roof-{side}", a, b, *_nearest_first(ridge, b))
    for end in ends:
        _rakes(shape, end)
        wall = {
            "front": (mid_x, 0.0),
            "back": (mid_x, mass.depth),
            "left": (0.0, mid_y),
            "right": (mass.width, mid_y),
        }
        shape.crowns[end] = (*wall[end], top)
    shape.edge("ridge", "ridge", *ridge, (0, 0, 1))
    return shape


def _nearest_first(peaks: tuple[str, str], corner: str) -> list[str]:
    """Order the ridge's ends so that the one over ``corner`` comes first."""
    return sorted(peaks, key=lambda p: p.removeprefix("peak-") not in corner)


def _rakes(shape: Shape, end: str) -> None:
    """Add the two rakes of a gable end: up to its peak and down again, going round the rim."""
    a, b = ENDS[end]
    for start, stop, rim in ((a, f"peak-{end}", a), (f"peak-{end}", b, b)):
        # "rake-left" at the front, "back-rake-left" behind it, "rake-left-front" at a side.
        along = next(w for w in rim.split("-") if w != end)
        name = {"front": f"rake-{along}", "back": f"back-rake-{along}"}
        shape.edge(
            name.get(end, f"rake-{end}-{along}"),
            "rake",
            start,
            stop,
            OUT[end],
            f"roof-{along}",
            below=True,
        )


def hip(mass: Mass) -> Shape:
    """Four planes of one slope; the ridge runs the longer way, or shrinks to a peak on a square.

    Seen from above the hips run at 45 degrees, which makes the rise of all planes equal.
    """
    shape = _rim(mass)
    o, s, w, d = mass.overhang, mass.slope, mass.width, mass.depth
    half = min(w, d) / 2 + o
    top = mass.eave + s * half
    if w < d:
        first, last = ("peak-front", (w / 2, half - o)), ("peak-back", (w / 2, d + o - half))
    else:
        first, last = ("peak-left", (half - o, d / 2)), ("peak-right", (w + o - half, d / 2))
    for name, (x, y) in (first, last):
        shape.corner(name, x, y, top)
    shape.rises = SIDES
    for corner in ("front-left", "front-right", "back-right", "back-left"):
        peak = _nearest_first((first[0], last[0]), corner)[0]
        one, two = corner.split("-")
        out = [a + b for a, b in zip(OUT[one], OUT[two], strict=True)]
        shape.edge(f"hip-{corner}", "hip", corner, peak, (*out[:2], 1))
    for side in SIDES:
        _eave(shape, side)
        a, b = ENDS[side]
        own = f"peak-{side}"
        peaks = [own] if own in shape.corners else _nearest_first((first[0], last[0]), b)
        shape.plane(f"roof-{side}", a, b, *peaks)
    shape.edge("ridge", "ridge", first[0], last[0], (0, 0, 1))
    return shape


def shed(mass: Mass) -> Shape:
    """One plane that rises towards the side ``mass.high``; its upper edge is called the ridge."""
    shape = _rim(mass)
    high, low = mass.high, OPPOSITE[mass.high]
    o, s = mass.overhang, mass.slope
    run = (mass.depth if high in ("front", "back") else mass.width) + 2 * o
    for corner in ENDS[high]:
        shape.corners[corner][2] = mass.eave + s * run
    shape.rises = (low,)
    shape.plane("roof", *ENDS["front"], *ENDS["back"])
    _eave(shape, low, plane="roof")
    for side in SIDES:
        if side not in (high, low):
            _eave(shape, side, "rake", plane="roof")
    a, b = ENDS[high]
    shape.edge("ridge", "ridge", a, b, OUT[high], "roof", below=True)
    return shape


def flat(mass: Mass) -> Shape:
    """One level plane with an eave on every side."""
    shape = _rim(mass)
    shape.rises = SIDES
    shape.plane("roof", *ENDS["front"], *ENDS["back"])
    for side in SIDES:
        _eave(shape, side, plane="roof")
    return shape


ROOFS: dict[str, Callable[[Mass], Shape]] = {
    "gable": gable,
    "hip": hip,
    "shed": shed,
    "flat": flat,
}
