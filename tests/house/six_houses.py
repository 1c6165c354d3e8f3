"""Six invented houses with roofs that meet, as files, and built by hand from their corners.

The second way shares nothing with the first: each block is the convex hull of corners worked out
here from the figures in the file, in feet.
"""

from dataclasses import dataclass

import numpy as np
import trimesh

FOOT = 0.3048
#: Thickness of a roof, ft: lumenmap's boards are 0.16 m.
THICK = 0.16 / FOOT
FRAME = """
[house]
name = "{name}"
unit = "ft"
[rail]
hole_spacing = "4 in"
[pixel]
kind = "ws2811-12v"
[[supply]]
name = "one"
volts = 12
amps = 20
[[line]]
name = "a"
path = [{path}]
"""
MAIN = """
[[mass]]
name = "main"
ridge = "across"
width = 40
depth = 24
eave = 9
slope = "8/12"
overhang = 1
[[mass.window]]
at = 6
width = 4
height = 4
sill = 3
"""
FILES = {
    "ell": MAIN
    + """
[[mass]]
name = "wing"
width = 16
depth = 22
position = [4, -10]
eave = 8.5
slope = "6/12"
overhang = { eaves = 1.5, rakes = 0.5 }
""",
    "tee": MAIN
    + """
[[mass]]
name = "stem"
roof = "hip"
width = 14
depth = 30
position = [13, -18]
eave = 8
slope = "6/12"
overhang = 1.5
""",
    "dormer": MAIN
    + """
[[mass]]
name = "dormer"
width = 7
depth = 4
position = [16, 4]
base = 10
eave = 4
slope = "8/12"
overhang = { eaves = 0.75, rakes = 0.5 }
leans_on = "main"
[[mass.window]]
at = 3.5
width = 3
height = 2
sill = 2.5
""",
    "porch": MAIN
    + """
[[mass]]
name = "porch"
roof = "shed"
width = 20
depth = 8
position = [10, -8]
eave = 8.5
slope = "3/12"
overhang = { eaves = 1, rakes = 0.5 }
walls = false
leans_on = "main"
""",
    "tower": MAIN
    + """
[[mass]]
name = "tower"
roof = "hip"
width = 10
depth = 10
position = [34, -4]
eave = 18
slope = "12/12"
overhang = 1
""",
    "court": """
[[mass]]
name = "front"
roof = "hip"
width = 50
depth = 14
eave = 9
slope = "6/12"
overhang = 1
[[mass]]
name = "left"
roof = "hip"
width = 14
depth = 50
eave = 9
slope = "6/12"
overhang = 1
[[mass]]
name = "right"
roof = "hip"
width = 14
depth = 50
position = [36, 0]
eave = 9
slope = "6/12"
overhang = 1
[[mass]]
name = "back"
ridge = "across"
width = 50
depth = 14
position = [0, 36]
eave = 12
slope = "8/12"
overhang = 1
""",
}
PATHS = {"court": '"front/eave-front"'}


def text(name):
    """A house file."""
    return FRAME.format(name=name, path=PATHS.get(name, '"main/eave-front"')) + FILES[name]


@dataclass(frozen=True)
class Block:
    """A rectangle of walls: place and size in plan, eave, slope, overhangs, floor; ft."""

    x: float
    y: float
    w: float
    d: float
    eave: float
    slope: float
    eaves: float
    rakes: float
    base: float = 0.0

    def at(self, points):
        """Points from the block's corner and floor, put in their place."""
        return np.array(points, float) + np.array([self.x, self.y, self.base])


@dataclass(frozen=True)
class Built:
    """Corners of a block's convex parts, ft: room first; and of two whose difference is its roof.

    The second begins and ends further out, so that no faces of the two lie in one plane.
    """

    parts: list
    above: np.ndarray
    below: np.ndarray | None = None

    def mesh(self):
        """The block as one mesh, in metres."""
        over = trimesh.convex.convex_hull(self.above * FOOT)
        if self.below is None:
            return over
        roof = trimesh.boolean.difference([over, trimesh.convex.convex_hull(self.below * FOOT)])
        return trimesh.boolean.union([roof, trimesh.convex.convex_hull(self.parts[0] * FOOT)])


def gable(b, *, away):
    """Room and two roofs of a gable block whose ridge runs away from the street, or across."""
    span, long = (b.w, b.d) if away else (b.d, b.w)
    foot, top = b.eave + b.slope * b.eaves, b.eave + b.slope * (b.eaves + span / 2)

    def spots(section, ends):
        """Corners of a section across the ridge, at both ends of a length along it."""
        out = [(u, v, z) for u, z in section for v in ends]
        return b.at(out if away else [(v, u, z) for u, v, z in out])

    room = spots([(0, 0), (span, 0), (span, foot), (span / 2, top), (0, foot)], (0, long))
    ends = (-b.rakes, long + b.rakes)
    halves = [[(-b.eaves, b.eave), (span / 2, top)], [(span + b.eaves, b.eave), (span / 2, top)]]
    roofs = [spots([*half, *[(u, z - THICK) for u, z in half]], ends) for half in halves]
    out, low = b.eaves, b.eave - THICK
    rim = [(-out, b.eave), (span + out, b.eave), (-out, low), (span + out, low)]
    deep = [(-out - 1, low - b.slope), (span / 2, top - THICK), (span + out + 1, low - b.slope)]
    beyond = (ends[0] - 1, ends[1] + 1)
    return Built([room, *roofs], spots([*rim, (span / 2, top)], ends), spots(deep, beyond))


def hip(b):
    """Room and four roofs of a hip block that is at least as deep as it is wide, or the reverse."""
    o, half = b.eaves, min(b.w, b.d) / 2
    foot, top = b.eave + b.slope * o, b.eave + b.slope * (o + half)
    peaks = (
        [(half, half, top), (half, b.d - half, top)]
        if b.d >= b.w
        else [(half, half, top), (b.w - half, half, top)]
    )
    walls = [(0, 0), (b.w, 0), (b.w, b.d), (0, b.d)]
    rim = [(-o, -o), (b.w + o, -o), (b.w + o, b.d + o), (-o, b.d + o)]
    room = b.at([(x, y, 0) for x, y in walls] + [(x, y, foot) for x, y in walls] + peaks)
    roofs = []
    for i in range(4):
        two = [(*rim[i], b.eave), (*rim[(i + 1) % 4], b.eave)]
        middle = np.mean(two, axis=0)
        # A side's roof ends in the nearer peak, or in both where it lies along the ridge.
        far = [np.linalg.norm((np.array(p) - middle)[:2]) for p in peaks]
        own = [p for p, f in zip(peaks, far, strict=True) if f < min(far) + 1e-6]
        plane = two + own
        roofs.append(b.at([*plane, *[(x, y, z - THICK) for x, y, z in plane]]))
    above = b.at([(x, y, z) for x, y in rim for z in (b.eave, b.eave - THICK)] + peaks)
    wide = [(x + np.sign(x), y + np.sign(y), b.eave - THICK - b.slope) for x, y in rim]
    below = b.at(wide + [(x, y, z - THICK) for x, y, z in peaks])
    return Built([room, *roofs], above, below)


def shed_roof(b):
    """The roof alone of a shed that rises to the back, as deep as is asked."""
    rise = b.eave + b.slope * (b.d + b.eaves)
    plane = [
        (-b.rakes, -b.eaves, b.eave),
        (b.w + b.rakes, -b.eaves, b.eave),
        (b.w + b.rakes, b.d, rise),
        (-b.rakes, b.d, rise),
    ]
    made = b.at([*plane, *[(x, y, z - THICK) for x, y, z in plane]])
    return Built([made], made)


_MAIN = gable(Block(0, 0, 40, 24, 9, 8 / 12, 1, 1), away=False)
_COURT = [
    hip(Block(0, 0, 50, 14, 9, 0.5, 1, 1)),
    hip(Block(0, 0, 14, 50, 9, 0.5, 1, 1)),
    hip(Block(36, 0, 14, 50, 9, 0.5, 1, 1)),
    gable(Block(0, 36, 50, 14, 12, 8 / 12, 1, 1), away=False),
]
#: By mass, the corners of its convex parts, ft. Those that lean end somewhere inside main, where
#: their length doesn't matter: 7 ft of dormer, whose ridge goes in at y = 10.75, and 11 ft of porch, in at y = 2.6.
BUILT = {
    "ell": [_MAIN, gable(Block(4, -10, 16, 22, 8.5, 0.5, 1.5, 0.5), away=True)],
    "tee": [_MAIN, hip(Block(13, -18, 14, 30, 8, 0.5, 1.5, 1.5))],
    "dormer": [_MAIN, gable(Block(16, 4, 7, 7, 4, 8 / 12, 0.75, 0.5, 10), away=True)],
    "porch": [_MAIN, shed_roof(Block(10, -8, 20, 11, 8.5, 3 / 12, 1, 0.5))],
    "tower": [_MAIN, hip(Block(34, -4, 10, 10, 18, 1, 1, 1))],
    "court": _COURT,
}


def united(name):
    """The house as one mesh in metres, by a library for solids."""
    return trimesh.boolean.union([built.mesh() for built in BUILT[name]])
