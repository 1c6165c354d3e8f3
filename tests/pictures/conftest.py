"""A small house made by hand (invented), with pixels along its front gable and side eave."""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from lumenmap.house.model import Edge, Face, House
from lumenmap.house.rails import Rail
from lumenmap.parts.kinds import pixel_kind
from lumenmap.pixels.pixelmap import LineSpan, PixelMap

WALL, ROOF, WHITE, DOOR = (
    (0.30, 0.32, 0.30),
    (0.05, 0.05, 0.06),
    (0.6, 0.6, 0.58),
    (0.2, 0.03, 0.02),
)


def _face(name, kind, corners, colour):
    return Face(name, kind, np.array(corners, float), colour, "main")


def cabin() -> House:
    """8 m wide, 9 m deep, eaves at 3 m, ridge (front to back) at 5.6 m, overhang 0.4 m."""
    w, d, e, r, o = 8.0, 9.0, 3.0, 5.6, 0.4
    slope = (r - e) / (w / 2)
    low = e - slope * o
    left = [[-o, -o, low], [w / 2, -o, r], [w / 2, d + o, r], [-o, d + o, low]]
    right = [[w / 2, -o, r], [w + o, -o, low], [w + o, d + o, low], [w / 2, d + o, r]]
    faces = (
        _face(
            "main/front", "wall", [[0, 0, 0], [w, 0, 0], [w, 0, e], [w / 2, 0, r], [0, 0, e]], WALL
        ),
        _face("main/right", "wall", [[w, 0, 0], [w, d, 0], [w, d, e], [w, 0, e]], WALL),
        _face("main/left", "wall", [[0, d, 0], [0, 0, 0], [0, 0, e], [0, d, e]], WALL),
        _face(
            "main/back", "wall", [[w, d, 0], [0, d, 0], [0, d, e], [w / 2, d, r], [w, d, e]], WALL
        ),
        _face("main/roof-left", "roof", left[::-1], ROOF),
        _face("main/roof-right", "roof", right[::-1], ROOF),
        _face("main/door", "door", [[3.5, 0, 0], [4.5, 0, 0], [4.5, 0, 2.1], [3.5, 0, 2.1]], DOOR),
        _face("a", "window", [[1, 0, 0.9], [2.6, 0, 0.9], [2.6, 0, 2.1], [1, 0, 2.1]], WHITE),
        _face("c", "window", [[5.4, 0, 0.9], [7, 0, 0.9], [7, 0, 2.1], [5.4, 0, 2.1]], WHITE),
    )
    front = np.array([0.0, -1.0, 0.0])
    edges = {
        "main/rake-left": Edge("main/rake-left", "rake", np.array(left[:2]), front, "main"),
        "main/rake-right": Edge("main/rake-right", "rake", np.array(right[:2]), front, "main"),
        "main/eave-right": Edge(
            "main/eave-right", "eave", np.array(right[1:3]), np.array([1.0, 0, 0]), "main"
        ),
    }
    rail = Rail(Fraction(3), Fraction(3, 50), Fraction(3, 100))
    return House(
        "Cabin",
        Path("house.toml"),
        "m",
        None,
        (),
        {},
        edges,
        faces,
        rail,
        pixel_kind("ws2811-12v"),
        (),
        (),
        (),
    )


def pixels(house: House, spacing: float = 0.06) -> PixelMap:
    """Pixels along every edge of the house, one line."""
    xyz, facing, along, length, edge = [], [], [], [], []
    for index, e in enumerate(house.edges.values()):
        a, b = e.points[0], e.points[-1]
        at = np.arange(spacing / 2, e.length, spacing)
        xyz.append(a + (b - a) * (at / e.length)[:, None] + 0.03 * e.facing)
        facing.append(np.broadcast_to(e.facing, (len(at), 3)))
        along.append(at)
        length.append(np.full(len(at), e.length))
        edge.append(np.full(len(at), index, np.int32))
    n = sum(map(len, at_ := along))
    span = LineSpan("front", 0, n, 1, "RGB", n * spacing)
    return PixelMap(
        np.concatenate(xyz),
        np.concatenate(facing),
        np.arange(n) * spacing,
        np.concatenate(at_),
        np.concatenate(length),
        np.concatenate(edge),
        np.zeros(n, np.int32),
        np.ones(n, bool),
        tuple(house.edges),
        (span,),
        house.kind,
        {},
    )


@pytest.fixture(scope="session")
def house() -> House:
    return cabin()


@pytest.fixture(scope="session")
def pixelmap(house) -> PixelMap:
    return pixels(house)
