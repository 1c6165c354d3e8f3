"""A gable mass in its own frame: front-left wall corner at 0, 0, floor at 0, metres.

The eave height is that of the roof's lower edge, which is what a tape measures; the roof plane
rises from there over the wall.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from lumenmap.house.model import Mass, Points


@dataclass(slots=True)
class Shape:
    """Named corners (3,), edges (kind, points, facing) and faces (kind, corners) of a mass."""

    corners: dict[str, Points] = field(default_factory=dict)
    edges: dict[str, tuple[str, Points, Points]] = field(default_factory=dict)
    faces: dict[str, tuple[str, Points]] = field(default_factory=dict)

    def edge(self, name: str, kind: str, start: str, stop: str, facing: tuple[float, ...]) -> None:
        """Add an edge between two named corners."""
        points = np.stack([self.corners[start], self.corners[stop]])
        self.edges[name] = (kind, points, np.array(facing, float))

    def face(self, name: str, kind: str, *corners: tuple[float, ...]) -> None:
        """Add a face; corners counter-clockwise as seen from outside."""
        self.faces[name] = (kind, np.array(corners, float))


#: Depth of the fascia board under the roof's edge (m), common practice, no source.
BOARD = 0.16


def gable(mass: Mass, across: bool) -> Shape:
    """Return the shape of a gable mass; ``across``: the eave faces front instead of the gable."""
    span, run = (mass.depth, mass.width) if across else (mass.width, mass.depth)
    shape = _ends(mass, span, run)
    return _turned(shape, mass.depth) if across else shape


def _ends(mass: Mass, span: float, run: float) -> Shape:
    """Build with the gable end to the front: ``span`` wide, ``run`` deep."""
    o, s = mass.overhang, mass.slope
    low, top = mass.eave, mass.eave + s * o
    peak, mid = mass.eave + s * (span / 2 + o), span / 2
    left, right, front, back = -o, span + o, -o, run + o
    shape = Shape()
    for side, y in (("front", front), ("back", back)):
        shape.corners[f"eave-left-{side}"] = np.array([left, y, low])
        shape.corners[f"eave-right-{side}"] = np.array([right, y, low])
        shape.corners[f"peak-{side}"] = np.array([mid, y, peak])
    for prefix, side, facing in (("", "front", (0, -1, 0)), ("back-", "back", (0, 1, 0))):
        shape.edge(f"{prefix}rake-left", "rake", f"eave-left-{side}", f"peak-{side}", facing)
        shape.edge(f"{prefix}rake-right", "rake", f"peak-{side}", f"eave-right-{side}", facing)
    shape.edge("eave-left", "eave", "eave-left-front", "eave-left-back", (-1, 0, 0))
    shape.edge("eave-right", "eave", "eave-right-front", "eave-right-back", (1, 0, 0))
    shape.edge("ridge", "ridge", "peak-front", "peak-back", (0, 0, 1))

    crown = mass.eave + s * (mid + o)
    shape.face("wall-front", "wall", (0, 0, 0), (span, 0, 0), (span, 0, top), (mid, 0, crown),
               (0, 0, top))  # fmt: skip
    shape.face("wall-back", "wall", (span, run, 0), (0, run, 0), (0, run, top), (mid, run, crown),
               (span, run, top))  # fmt: skip
    shape.face("wall-left", "wall", (0, run, 0), (0, 0, 0), (0, 0, top), (0, run, top))
    shape.face("wall-right", "wall", (span, 0, 0), (span, run, 0), (span, run, top), (span, 0, top))
    _roof(shape, (left, right, front, back), mid, low, peak)
    return shape


def _roof(
    shape: Shape, plan: tuple[float, float, float, float], mid: float, low: float, peak: float
) -> None:
    left, right, front, back = plan
    b = BOARD
    for name, edge, sign in (("left", left, -1), ("right", right, 1)):
        up = [(edge, front, low), (mid, front, peak), (mid, back, peak), (edge, back, low)]
        under = [(x, y, z - b) for x, y, z in up]
        board = [(edge, front, low - b), (edge, back, low - b), (edge, back, low),
                 (edge, front, low)]  # fmt: skip
        gables = [
            [(edge, y, low - b), (mid, y, peak - b), (mid, y, peak), (edge, y, low)]
            for y in (front, back)
        ]
        if sign < 0:  # mirrored, so the order turns round to stay counter-clockwise
            up, board = up[::-1], board[::-1]
            gables[1] = gables[1][::-1]
        else:
            under = under[::-1]
            gables[0] = gables[0][::-1]
        shape.face(f"roof-{name}", "roof", *up)
        shape.face(f"soffit-{name}", "soffit", *under)
        shape.face(f"fascia-{name}", "fascia", *board)
        for where, quad in zip(("front", "back"), gables, strict=True):
            shape.face(f"fascia-{name}-{where}", "fascia", *quad)


#: Names of a gable seen from its eave side: what was front is now left.
_ACROSS = {
    "rake-left": "rake-left-back",
    "rake-right": "rake-left-front",
    "back-rake-left": "rake-right-back",
    "back-rake-right": "rake-right-front",
    "eave-left": "eave-back",
    "eave-right": "eave-front",
    "wall-front": "wall-left",
    "wall-back": "wall-right",
    "wall-left": "wall-back",
    "wall-right": "wall-front",
}


def _turned(shape: Shape, depth: float) -> Shape:
    """Turn a shape clockwise by a quarter, so that its right side comes to the front."""
    turn = np.array([[0, 1, 0], [-1, 0, 0], [0, 0, 1]], float)  # (x, y) to (y, -x)
    move = np.array([0, depth, 0], float)
    out = Shape()
    out.corners = {_corner(n): turn @ p + move for n, p in shape.corners.items()}
    for name, (kind, points, facing) in shape.edges.items():
        new, towards = _ACROSS.get(name, name), turn @ facing
        placed = points @ turn.T + move
        if new in ("rake-left-front", "rake-right-front"):
            placed = placed[::-1]  # both rakes of an end rise to the peak
        out.edges[new] = (kind, placed, towards)
    for name, (kind, corners) in shape.faces.items():
        out.faces[_ACROSS.get(name, name)] = (kind, corners @ turn.T + move)
    return out


def _corner(name: str) -> str:
    """Rename a corner: eave-right-front becomes eave-left-front, peak-front becomes peak-left."""
    what, *rest = name.split("-")
    if what == "peak":
        return {"front": "peak-left", "back": "peak-right"}[rest[0]]
    side = {"left": "back", "right": "front"}[rest[0]]
    end = {"front": "left", "back": "right"}[rest[1]]
    return f"eave-{end}-{side}"
