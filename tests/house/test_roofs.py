"""Roof geometry against published factors and independent geometry libraries."""

import csv
import math
from pathlib import Path

import numpy as np
import pytest
import shapely
import trimesh
from coloraide import Color

from lumenmap.house.masses.mass import Mass, Overhang
from lumenmap.house.masses.roofs import roof
from lumenmap.house.reading.walls import add_posts, add_trim, add_walls

FOOT = 0.3048
TABLE = Path(__file__).parents[1] / "tables" / "roof_factors.csv"
ROWS = list(csv.DictReader(TABLE.read_text().splitlines()[1:]))


def mass(roof="gable", width=30.0, depth=20.0, slope=0.5, overhang=0.0, **more):
    out = overhang if isinstance(overhang, Overhang) else Overhang(*[overhang] * 4)
    return Mass("m", roof, width, depth, 9.0, slope, out, (0.0, 0.0), 0.0, 0.0, **more)


def length(rim):
    return float(np.linalg.norm(rim.points[1] - rim.points[0]))


def angle(rim):
    way = rim.points[1] - rim.points[0]
    return math.degrees(math.atan2(abs(way[2]), math.hypot(way[0], way[1])))


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r['rise']}/12")
@pytest.mark.parametrize("overhang", [0.0, 1.5])
def test_slope_and_hip_factors_are_the_published_ones(row, overhang):
    """Slope and hip factors and angles by rise in 12 (published multiplier pages [P]; values [K])."""
    slope = int(row["rise"]) / 12
    run = 15 + overhang
    rake = roof(mass(slope=slope, overhang=overhang)).edges["rake-left"]
    assert length(rake) / run == pytest.approx(float(row["slope"]), abs=6e-5)
    assert angle(rake) == pytest.approx(float(row["angle"]), abs=6e-3)
    hip = roof(mass("hip", width=30, depth=50, slope=slope, overhang=overhang)).edges[
        "hip-front-left"
    ]
    assert length(hip) / run == pytest.approx(float(row["hip"]), abs=6e-5)
    assert angle(hip) == pytest.approx(float(row["hip_angle"]), abs=6e-3)


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"{r['rise']}/12")
def test_the_hips_of_one_hip_end_have_the_published_factor(row):
    out = Overhang(1.5, 1.5, 0.2, 1.5)
    edges = roof(
        mass(width=30, depth=50, slope=int(row["rise"]) / 12, overhang=out, hip_end="front")
    ).edges
    for name in ("hip-front-left", "hip-front-right"):
        assert length(edges[name]) / 16.5 == pytest.approx(float(row["hip"]), abs=6e-5)
    # the ridge: from half a span inside the hip's wall to the end of the other overhang
    assert length(edges["ridge"]) == pytest.approx(50 - 15 + 0.2)
    assert "eave-front" in edges and "rake-left" not in edges and "back-rake-left" in edges


def test_a_deeper_eave_is_lower_and_the_ridge_stays_in_the_middle():
    """By hand, 6/12, 30 ft wide: rafters meet the walls at one height, 10 ft.

    9 ft is where the deeper eave, 2 ft out, is; the other, 1 ft out, is 6 in higher.
    """
    shape = roof(mass(overhang=Overhang(0, 1, 0, 2)))
    assert shape.edges["eave-left"].points[:, 2] == pytest.approx([9, 9])
    assert shape.edges["eave-right"].points[:, 2] == pytest.approx([9.5, 9.5])
    assert shape.edges["ridge"].points[:, 0] == pytest.approx([15, 15])
    assert shape.edges["ridge"].points[:, 2] == pytest.approx([17.5, 17.5])


def test_worked_rake_rafter_and_hip():
    """30 ft wide at 6/12: rakes of 16.77 ft; 8/12, run 12 ft: rafter 14.42, hip 18.76 ft [K]."""
    assert length(roof(mass(slope=6 / 12)).edges["rake-right"]) == pytest.approx(16.77, abs=5e-3)
    assert length(roof(mass(width=24, slope=8 / 12)).edges["rake-left"]) == pytest.approx(
        14.42, abs=5e-3
    )
    hip = roof(mass("hip", width=24, depth=40, slope=8 / 12)).edges["hip-back-right"]
    assert length(hip) == pytest.approx(18.76, abs=5e-3)


SHAPES = [
    mass(),
    mass(ridge="across"),
    mass(overhang=1.2),
    mass("hip", 30, 20, overhang=1.0),
    mass("hip", 20, 30, overhang=1.0),
    mass("hip", 20, 20),
    mass("flat", overhang=0.5),
    *(mass("shed", overhang=0.7, high=side) for side in ("front", "right", "back", "left")),
    mass(overhang=Overhang(0.3, 1.5, 0.4, 1.5)),
    mass(overhang=Overhang(0.3, 1.5, 0.4, 0.8)),
    mass("shed", overhang=Overhang(0.2, 1.5, 0.4, 0.8), high="left"),
    mass("flat", overhang=Overhang(0.2, 1.5, 0.4, 0.8)),
    mass(ridge="across", hip_end="left", overhang=Overhang(1, 0.2, 1, 1)),
    mass(ridge="across", hip_end="right", overhang=Overhang(1, 1, 1, 0.2)),
    mass(width=20, depth=30, hip_end="front", overhang=Overhang(1, 1, 0.2, 1)),
    mass(width=20, depth=30, hip_end="back"),
]


def named(m):
    out = "".join(f"{v:g}." for v in m.overhang)
    return f"{m.roof}-{m.width:g}x{m.depth:g}-{m.ridge}-{m.high}-{m.hip_end}-{out}"


@pytest.mark.parametrize("m", SHAPES, ids=named)
def test_roof_planes_cover_the_rim_exactly_once(m):
    """By shapely: planes seen from above tile the rectangle of the rim, with no overlap."""
    shape = roof(m)
    planes = [c for kind, c in shape.faces.values() if kind == "roof"]
    flat = [shapely.Polygon(p[:, :2]) for p in planes]
    o = m.overhang
    rim = shapely.box(-o.left, -o.front, m.width + o.right, m.depth + o.back)
    assert shapely.union_all(flat).symmetric_difference(rim).area == pytest.approx(0, abs=1e-9)
    assert sum(p.area for p in flat) == pytest.approx(rim.area)
    for p in planes:  # flat, and turned to the sky
        normal = np.cross(p[1] - p[0], p[2] - p[0])
        assert normal[2] > 0
        assert np.abs((p - p[0]) @ (normal / np.linalg.norm(normal))).max() < 1e-9
        # true area is the flat one times the slope factor
        true = trimesh.Trimesh(p, [[0, i, i + 1] for i in range(1, len(p) - 1)], process=False).area
        slope = 0 if m.roof == "flat" else m.slope
        assert true == pytest.approx(shapely.Polygon(p[:, :2]).area * math.hypot(1, slope))


@pytest.mark.parametrize("m", SHAPES, ids=named)
def test_walls_and_roof_close_a_solid_of_the_right_volume(m):
    """By trimesh: walls, floor and the roof above them enclose width x depth x mean height."""
    bare = Mass(**{f: getattr(m, f) for f in m._fields} | {"overhang": Overhang()})
    shape = roof(bare)
    add_walls(shape)
    w, d = m.width, m.depth
    floor = np.array([[0, 0, 0], [0, d, 0], [w, d, 0], [w, 0, 0]], float)
    faces = [c for kind, c in shape.faces.values() if kind in ("wall", "roof")] + [floor]
    points, triangles = [], []
    for c in faces:
        start = len(points)
        points += list(c)
        triangles += [[start, start + i, start + i + 1] for i in range(1, len(c) - 1)]
    solid = trimesh.Trimesh(points, triangles)
    solid.merge_vertices()
    assert solid.is_watertight and solid.is_winding_consistent
    s = 0 if m.roof == "flat" else m.slope
    low, high = min(w, d), max(w, d)
    span = w if m.ridge == "away" else d
    over = {
        "flat": 0,
        "shed": s * (d if m.high in ("front", "back") else w) / 2 * w * d,
        # a hip end takes half of what two of them take of a gable roof: s * span**3 / 12
        "gable": s * span / 4 * w * d - (s * span**3 / 24 if m.hip_end else 0),
        # a hip roof: prism of the ridge's length, and a pyramid of the two ends put together
        "hip": s * low / 2 * (low * (high - low) / 2 + low * low / 3),
    }[m.roof]
    assert solid.volume == pytest.approx(9 * w * d + over)


@pytest.mark.parametrize("m", SHAPES, ids=named)
def test_the_rim_runs_round_counter_clockwise_without_a_break(m):
    shape = roof(m)
    rims = [r for r in shape.edges.values() if r.fascia]
    loop, here = [], rims[0].points[0]
    for _ in rims:
        step = next(r for r in rims if np.allclose(r.points[0], here))
        loop.append(here[:2])
        here = step.points[1]
    assert np.allclose(here, rims[0].points[0])
    assert shapely.LinearRing(loop).is_ccw
    for r in rims:  # facing outward: to the right of the way
        way = r.points[1] - r.points[0]
        assert way[0] * r.facing[1] - way[1] * r.facing[0] < 0


def test_front_edges_run_left_to_right_as_seen_from_the_street():
    for m in SHAPES:
        for r in roof(m).edges.values():
            if r.fascia and r.facing[1] < -0.9:
                assert r.points[1][0] > r.points[0][0]


def test_eave_height_is_that_of_the_edge_and_the_wall_stands_higher():
    """The tape measures the roof's lower edge; with an overhang the wall's top is above it."""
    shape = roof(mass(overhang=1.5, slope=0.5))
    add_walls(shape)
    assert shape.edges["eave-left"].points[:, 2] == pytest.approx(9)
    assert shape.faces["wall-left"][1][:, 2].max() == pytest.approx(9 + 0.75)


def test_boards_hang_from_the_rim_and_posts_hold_an_open_roof():
    shape = roof(mass("shed", overhang=0.5))
    add_trim(shape)
    add_posts(shape)
    kinds = [kind for kind, _ in shape.faces.values()]
    assert kinds.count("soffit") == 1 and "wall" not in kinds
    assert sum(n.startswith("post-") for n in shape.edges) == 4
    top = shape.corners["post-back-left-top"][2]
    assert top > shape.corners["post-front-left-top"][2]


@pytest.mark.parametrize(
    "written", ["#b8b09c", "burlywood", "rgb(30% 60% 10%)", "hsl(30 40% 50%)", "oklch(0.5 0.08 60)"]
)
def test_a_roof_reflects_the_colour_that_is_written(load, written):
    """Linear light by another reader of CSS colours (coloraide)."""
    reference = Color(written).convert("srgb-linear").coords()
    house = load(("overhang = 1", f'overhang = 1\nroof_colour = "{written}"'))
    (roof_face, *_) = [f for f in house.faces if f.kind == "roof"]
    assert roof_face.colour == pytest.approx(tuple(reference), abs=1e-6)


def test_a_colour_that_no_screen_shows_is_held_to_what_one_does(load):
    house = load(("overhang = 1", 'overhang = 1\nroof_colour = "color(display-p3 0 1 0)"'))
    (roof_face, *_) = [f for f in house.faces if f.kind == "roof"]
    assert roof_face.colour[0] == 0 and roof_face.colour[1] == 1
