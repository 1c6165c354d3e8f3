"""The hull of six houses, against the same houses built by hand and united by another library."""

import numpy as np
import pytest
import trimesh
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import linprog
from scipy.spatial import ConvexHull, HalfspaceIntersection

from lumenmap.core.errors import InputError
from lumenmap.house.hull.faces import hull, meetings
from lumenmap.house.hull.lines import merged, rims
from lumenmap.house.masses.filled import solids
from lumenmap.house.reading.load import load_house
from lumenmap.pictures.scene.camera import Camera
from lumenmap.pictures.scene.look import Look
from lumenmap.pictures.scene.raster import rasterise
from lumenmap.pictures.scene.scene import scene
from lumenmap.pictures.scene.surface import flat
from lumenmap.pictures.scene.view import View, view_camera
from lumenmap.sheets.plans.views import VIEWS, outlines
from lumenmap.site import Site
from lumenmap.solids.convex import DEEP, NEAR, passages
from lumenmap.solids.outside import area
from tests.house.six_houses import BUILT, FOOT, FRAME, MAIN, THICK, text, united

NAMES = sorted(BUILT)


@pytest.fixture
def made(tmp_path):
    def load(content):
        file = tmp_path / "house.toml"
        file.write_text(content)
        return load_house(file)

    return load


def closed(house):
    """The parts that enclose the house: all but openings, and posts, which are no solids."""
    return [f for f in hull(house) if f.kind not in ("window", "door") and "/post-" not in f.name]


@pytest.mark.parametrize("name", NAMES)
def test_the_hull_encloses_what_another_library_unites(made, name):
    """Volume by the divergence theorem, and area, against trimesh with manifold3d."""
    pytest.importorskip("manifold3d", reason="unites solids for trimesh; in the extra test")
    whole = united(name)
    assert whole.is_watertight
    parts = closed(made(text(name)))
    volume = sum(
        np.dot(np.cross(p.corners[i], p.corners[i + 1]), p.corners[0]) / 6
        for p in parts
        for i in range(1, len(p.corners) - 1)
    )
    assert volume == pytest.approx(whole.volume, rel=1e-5)
    floor = (whole.face_normals[:, 2] < -0.999) & (whole.triangles_center[:, 2] < 1e-6)
    assert sum(area(p.corners) for p in parts) == pytest.approx(
        whole.area - whole.area_faces[floor].sum(), rel=1e-5
    )


@pytest.mark.parametrize("name", NAMES)
def test_parts_face_outwards_and_are_on_the_outside(made, name):
    """A point just outside each part is in no solid; by Qhull's planes of the other construction."""
    planes = [ConvexHull(p * FOOT).equations for built in BUILT[name] for p in built.parts]
    for part in closed(made(text(name))):
        middle = part.corners.mean(0)
        out = np.cross(part.corners[1] - part.corners[0], part.corners[2] - part.corners[0])
        out /= np.linalg.norm(out)
        over, under = middle + 1e-3 * out, middle - 1e-3 * out
        deep = [(-(e[:, :3] @ over + e[:, 3])).min() for e in planes]
        assert max(deep) < 1e-6, part.name
        deep = [(-(e[:, :3] @ under + e[:, 3])).min() for e in planes]
        assert max(deep) > 1e-4, part.name


def hidden_by_hand(line, parts):
    """How much of a line (m) is in convex parts, from points on it."""
    along = np.linspace(0, np.linalg.norm(line[1] - line[0]), 8001)
    points = line[0] + (line[1] - line[0]) * (along / along[-1])[:, None]
    inside = np.zeros(len(along), bool)
    for corners in parts:
        plane = ConvexHull(corners * FOOT).equations
        deep = -(points @ plane[:, :3].T + plane[:, 3]).max(1)
        if deep.max() > DEEP:
            inside |= deep > 0
    ends = np.flatnonzero(np.diff(np.concatenate([[False], inside, [False]]).astype(int)))
    spans = [(along[a], along[b - 1]) for a, b in ends.reshape(-1, 2)]
    joined = [list(spans[0])] if spans else []
    for low, high in spans[1:]:
        if low <= joined[-1][1] + NEAR:
            joined[-1][1] = high
        else:
            joined.append([low, high])
    return sum(high - low for low, high in joined)


@pytest.mark.parametrize("name", [n for n in NAMES if n not in ("dormer", "porch")])
def test_hidden_lengths_of_edges_are_those_of_the_house_built_by_hand(made, name):
    """Every eave, rake, hip and ridge, in every mass but its own."""
    house = made(text(name))
    some = 0
    for number, mass in enumerate(house.masses):
        for edge in house.edges.values():
            if edge.mass == mass.name or len(edge.points) != 2:
                continue
            found = passages(solids(mass), edge.points)
            by_hand = hidden_by_hand(edge.points, BUILT[name][number].parts)
            assert sum(b - a for a, b in found) == pytest.approx(by_hand, abs=0.01), edge.name
            some += by_hand > 0.5
    assert some >= 2


def steep(lines):
    """Lines in plan that run neither along nor across, each as its two ends in feet, rounded."""
    flat_ = [np.round(line[np.argsort(line[:, 1])][:, :2] / FOOT, 2) for line in lines]
    return [line.tolist() for line in flat_ if np.abs(line[0] - line[1]).min() > 0.5]


def test_the_valleys_of_an_ell_of_two_slopes(made):
    """By hand. Main's roof is 9 + 8/12 (y + 1) high, the wing's ridge 8.5 + (9.5)/2 = 13.25 ft.

    It goes in at y = 5.375. Its left slope, 8.5 + (x - 2.5)/2, is as high as main's eave, 9 ft, at
    x = 3.5: there the valley begins; the wing's own eave runs on under main's.
    """
    lines = [
        line for one, two, line in meetings(made(text("ell"))) if {one.kind, two.kind} == {"roof"}
    ]
    found = sorted(steep(lines))
    assert found == [[[3.5, -1.0], [12.0, 5.38]], [[20.5, -1.0], [12.0, 5.38]]] or found == [
        [[3.5, -1.0], [12.0, 5.37]],
        [[20.5, -1.0], [12.0, 5.37]],
    ]


@pytest.mark.parametrize("name", NAMES)
def test_where_masses_meet_is_on_the_outside(made, name):
    """No part of such a line is inside a convex part of the house built by hand."""
    planes = [ConvexHull(p * FOOT).equations for built in BUILT[name] for p in built.parts]
    lines = [line for _, _, line in meetings(made(text(name)))]
    assert lines
    for line in lines:
        length = np.linalg.norm(line[1] - line[0])
        if length < 0.2:
            continue
        for share in np.linspace(0.05, 0.95, 7):
            point = line[0] + share * (line[1] - line[0])
            deep = max((-(e[:, :3] @ point + e[:, 3])).min() for e in planes)
            assert deep < 1.5 * DEEP, (line / FOOT, deep)


def test_a_tower_has_no_valley(made):
    """Its roof is above main's: walls run into the roof, and no two roofs meet."""
    kinds = {frozenset((a.kind, b.kind)) for a, b, _ in meetings(made(text("tower")))}
    assert frozenset(["roof"]) not in kinds and frozenset(["roof", "wall"]) in kinds


def test_two_halves_that_are_flush_are_drawn_as_one(made):
    """A house in two masses, side by side, has the lines and the area of one twice as wide."""
    whole = MAIN.replace("overhang = 1", "overhang = { eaves = 1 }").partition("[[mass.window")[0]
    left = whole.replace("width = 40", "width = 16")
    right = left.replace('"main"', '"right"').replace("16", "24") + "position = [16, 0]\n"
    one = made(FRAME.format(name="One", path='"main/eave-front"') + whole)
    two = made(FRAME.format(name="Two", path='"main/eave-front"') + left + right)
    for house in (one, two):
        assert meetings(house) == ()
    assert sum(area(f.corners) for f in hull(two)) == pytest.approx(
        sum(area(f.corners) for f in hull(one))
    )

    def lines(house):
        drawn = merged([line for _, line in rims(house)])
        return sorted(np.round(np.sort(line, axis=0).ravel(), 3).tolist() for line in drawn)

    assert lines(two) == lines(one)


def test_flush_walls_of_two_colours_have_a_line_between_them(made):
    left = MAIN.replace("width = 40", "width = 16").partition("[[mass.window")[0]
    right = left.replace('"main"', '"right"') + 'position = [16, 0]\nwall_colour = "#803020"\n'
    house = made(FRAME.format(name="Two", path='"main/eave-front"') + left + right)
    front = next(v for v in VIEWS if v.name == "front")
    upright = [
        line
        for line in outlines(house, front)
        if abs(line[0, 0] - 16 * FOOT) < 1e-3 and abs(line[1, 0] - 16 * FOOT) < 1e-3
    ]
    assert sum(np.ptp(line[:, 1]) for line in upright) > 2


def test_a_flush_wall_half_way_up_leaves_the_lines_below_and_above_it(made):
    """A bay from 3 ft to 6 ft, flush with the front, whose upper 0.525 ft are a board of its own."""
    main = MAIN.replace("width = 40", "width = 16").replace("overhang = 1", "overhang = 0")
    bay = 'name = "bay"\nroof = "flat"\nwidth = 3\ndepth = 10\neave = 3\nbase = 3\nposition = [16, 0]\n'
    text = FRAME.format(name="Bay", path='"main/eave-front"') + main.partition("[[mass.window")[0]
    house = made(f"{text}[[mass]]\n{bay}")
    corner = [
        line / FOOT
        for facing, line in rims(house)
        if facing[1] < -0.99 and np.abs(line[:, 0] - 16 * FOOT).max() < 1e-3
    ]
    found = sorted(tuple(np.sort(line[:, 2]).round(3).tolist()) for line in merged(corner))
    assert found == [(0.0, 3.0), (5.475, 9.0)]


@pytest.mark.parametrize("name", NAMES)
def test_the_plan_has_no_line_under_a_roof(made, name):
    """Every line of the plan is on the outside: nothing of the other construction is over it."""
    house = made(text(name))
    plan = next(v for v in VIEWS if v.name == "plan")
    planes = [ConvexHull(p * FOOT).equations for built in BUILT[name] for p in built.parts]

    def covered(point):
        return any((e[:, :3] @ point + e[:, 3] < -0.03).all() for e in planes)

    space = merged([line for n, line in rims(house) if n[2] > 1e-6])
    shown = outlines(house, plan)
    assert shown
    for flat_line in shown:
        middle = flat_line.mean(0)
        own = [s for s in space if _over(s, middle)] + [
            line for _, _, line in meetings(house) if _over(line, middle)
        ]
        assert any(not covered(_lifted(s, middle)) for s in own), middle / FOOT


def _share(line, place):
    way = (line[1] - line[0])[:2]
    return float((place - line[0, :2]) @ way / max(way @ way, 1e-12))


def _over(line, place):
    share = _share(line, place)
    at = line[0, :2] + share * (line[1] - line[0])[:2]
    return -0.01 < share < 1.01 and np.linalg.norm(at - place) < 0.01


def _lifted(line, place):
    return line[0] + _share(line, place) * (line[1] - line[0]) + [0, 0, 0.02]


CAMERAS = {
    "front": ((20, -70, 6), (20, 10, 8)),
    "corner": ((75, -50, 14), (20, 10, 6)),
    "above": ((25, -30, 80), (22, 15, 5)),
    "behind": ((-40, 80, 30), (20, 15, 5)),
}


def seen_from(site, name) -> Camera:
    at, to = (tuple(v * FOOT for v in place) for place in CAMERAS[name])
    return view_camera(site, View(at, to, 24), 240, 150)


@pytest.mark.parametrize("where", CAMERAS)
@pytest.mark.parametrize("name", NAMES)
def test_the_picture_has_neither_gaps_nor_walls_inside_walls(made, name, where):
    """Depths of the hull are those of all faces whole, of which the nearest hides the rest.

    But for valleys' metal, what a picture shows of a house is never further nor nearer.
    """
    house = made(text(name))
    camera = seen_from(Site(house), where)
    shown = [
        s
        for s in scene(house, Look(time="day", trees=False, street_lamp=False))
        if s.name.partition("/")[0] in {m.name for m in house.masses}
        and not s.name.endswith("valley")
        and s.kind in ("wall", "roof", "soffit", "fascia")
    ]
    kinds = ("wall", "roof", "soffit", "fascia")
    whole = [flat(f.kind, f.corners, f.colour, f.name) for f in house.faces if f.kind in kinds]
    cut, full = rasterise(shown, camera), rasterise(whole, camera)
    assert (full.surface >= 0).mean() > 0.05
    off = np.abs(cut.nearest - full.nearest) > 1e-4 * full.nearest
    assert off.mean() < 2e-5, np.argwhere(off)[:5]


@pytest.mark.parametrize("name", ["ell", "tee", "dormer", "court"])
def test_valleys_are_seen_from_above(made, name):
    house = made(text(name))
    camera = seen_from(Site(house), "above")
    surfaces = scene(house, Look(time="day", trees=False, street_lamp=False))
    raster = rasterise(surfaces, camera)
    valleys = [line for a, b, line in meetings(house) if {a.kind, b.kind} == {"roof"}]
    assert len(valleys) >= 2
    found = 0
    for line in valleys:
        for share in (0.3, 0.5, 0.7):
            point = line[0] + share * (line[1] - line[0])
            (x, y), _ = camera.project(point + np.array([0, 0, 0.01]))
            column, row = int(x * raster.samples), int(y * raster.samples)
            near = raster.surface[row - 1 : row + 2, column - 1 : column + 2]
            found += any(surfaces[k].name.endswith("valley") for k in near.ravel())
    assert found >= 0.8 * 3 * len(valleys)
    assert not any(s.name.endswith("valley") for s in scene(house, Look(snow=True)))


def test_posts_end_under_their_roof(made):
    """The porch's roof is 8.5 + (y + 9)/4 high; its front posts stand from y = -8 to -7.6 ft."""
    posts = [f for f in hull(made(text("porch"))) if "/post-front" in f.name]
    assert posts
    top = max(f.corners[:, 2].max() for f in posts) / FOOT
    assert 8.75 - THICK - 0.01 < top < 8.85 - THICK + 0.01


PLACES = st.integers(-12, 12).map(lambda n: n / 2)
ROOFS = st.sampled_from(
    [
        'roof = "hip"',
        'roof = "flat"',
        'ridge = "across"',
        'ridge = "away"',
        'ridge = "across"\nhip_end = "left"',
        'roof = "shed"\nhigh = "right"',
        'roof = "shed"\nhigh = "front"\nwalls = false',
    ]
)
MASSES = st.tuples(
    ROOFS,
    st.tuples(PLACES, PLACES),
    st.tuples(st.integers(6, 14), st.integers(6, 14)),
    st.sampled_from([2.5, 3, 4.25]),
    st.sampled_from([0, 90, 17, 45]),
    st.sampled_from([0, 0.5, 1.3]),
    st.sampled_from([0, 0, 1.5]),
)


@settings(max_examples=30, deadline=None)
@given(st.lists(MASSES, min_size=2, max_size=3))
def test_the_hull_of_any_masses_encloses_their_union(tmp_path_factory, masses):
    """Volume against manifold3d's union of the same convex parts, cornered by Qhull."""
    pytest.importorskip("manifold3d", reason="unites solids for trimesh; in the extra test")
    content = FRAME.format(name="Any", path='"m0/eave-front"').replace('"ft"', '"m"')
    content = content.replace('"m0/eave-front"', '{ edge = "e" }')
    content += '[[edge]]\nname = "e"\npoints = [[0, 0, 9], [5, 0, 9]]\n'
    for n, (roof, (x, y), (w, d), eave, turn, out, base) in enumerate(masses):
        content += (
            f'[[mass]]\nname = "m{n}"\n{roof}\nwidth = {w}\ndepth = {d}\nposition = [{x}, {y}]\n'
            f'eave = {eave}\nslope = "5/12"\nrotate = {turn}\noverhang = {out}\nbase = {base}\n'
        )
    file = tmp_path_factory.mktemp("any") / "house.toml"
    file.write_text(content)
    try:
        house = load_house(file)
    except InputError as error:  # a hip end that reaches the other
        assert "hip_end" in error.key
        return
    whole = trimesh.boolean.union([meshed(c) for m in house.masses for c in solids(m)])
    volume = sum(
        np.dot(np.cross(p.corners[i], p.corners[i + 1]), p.corners[0]) / 6
        for p in closed(house)
        for i in range(1, len(p.corners) - 1)
    )
    assert volume == pytest.approx(whole.volume, rel=1e-5)


def meshed(solid):
    """A convex solid as a mesh, by the duals of scipy (Qhull)."""
    sizes = np.column_stack([solid.normals, np.ones(len(solid.normals))])
    deepest = linprog([0, 0, 0, -1], sizes, solid.offsets, bounds=[(None, None)] * 3 + [(0, None)])
    planes = np.column_stack([solid.normals, -solid.offsets])
    return trimesh.convex.convex_hull(HalfspaceIntersection(planes, deepest.x[:3]).intersections)
