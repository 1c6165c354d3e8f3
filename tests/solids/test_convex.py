"""Lines through convex solids: against shapely, and sections of houses drawn by hand."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiPoint, Polygon

from lumenmap.core.errors import InputError
from lumenmap.house.masses.filled import inside, solids
from lumenmap.house.reading.load import load_house
from lumenmap.solids.convex import DEEP, NEAR, half_spaces, passages

FOOT = 0.3048
NUMBERS = st.integers(-40, 40).map(lambda n: n / 4)
POINTS = st.tuples(NUMBERS, NUMBERS)


@given(st.lists(POINTS, min_size=3, max_size=8), POINTS, POINTS)
def test_a_line_through_a_prism_is_that_of_shapely(corners, start, stop):
    hull = MultiPoint(corners).convex_hull
    if not isinstance(hull, Polygon) or start == stop:
        return
    ring = np.array(hull.exterior.coords)
    if not hull.exterior.is_ccw:
        ring = ring[::-1]
    sides = []
    for (x, y), (u, v) in pairwise(ring):
        normal = (v - y, x - u, 0.0)
        sides.append((normal, normal[0] * x + normal[1] * y))
    prism = half_spaces(*sides, ((0, 0, 1), 3), ((0, 0, -1), 0))
    ends = np.array([[*start, 1.0], [*stop, 1.0]])
    found = passages([prism], ends)
    both = LineString([start, stop]).intersection(hull)
    deep = LineString([start, stop]).intersection(hull.buffer(-DEEP, join_style="mitre"))
    if deep.length > 1e-6:
        ((low, high),) = found
        assert high - low == pytest.approx(both.length, abs=1e-6)
        line = LineString([start, stop])
        assert low == pytest.approx(min(line.project(p) for p in both.boundary.geoms), abs=1e-6)
    elif deep.is_empty:
        assert found == []


@pytest.mark.parametrize(("depth", "count"), [(-0.01, 0), (0.0, 0), (0.01, 0), (0.05, 1)])
def test_a_line_along_a_face_passes_by(depth, count):
    """In a cube of 1 m, ``depth`` m below its top: an eave level with another's isn't in it."""
    sides = [((1, 0, 0), 1), ((-1, 0, 0), 0), ((0, 1, 0), 1), ((0, -1, 0), 0)]
    cube = half_spaces(*sides, ((0, 0, 2), 2), ((0, 0, -1), 0))
    z = 1 - depth
    assert len(passages([cube], np.array([[-1, 0.5, z], [2, 0.5, z]]))) == count


HOUSE = """
[house]
name = "Two"
unit = "ft"
[rail]
hole_spacing = "3 in"
[pixel]
kind = "ws2811-12v"
[[supply]]
name = "one"
volts = 12
amps = 5
[[mass]]
name = "main"
roof = "gable"
ridge = "across"
width = 40
depth = 24
eave = 9
slope = "8/12"
overhang = 1
[[mass]]
name = "wing"
{wing}
[[line]]
name = "a"
path = [{path}]
"""
L_WING = 'roof = "gable"\nwidth = 16\ndepth = 22\neave = 9\nslope = "8/12"\noverhang = 1\nposition = [4, -10]'
PORCH = 'roof = "shed"\nhigh = "back"\nwidth = 12\ndepth = 6\neave = 8\nslope = "2/12"\noverhang = 0.5\nposition = [4, -6]\nwalls = false'
TOWER = 'roof = "hip"\nwidth = 8\ndepth = 8\neave = 16\nslope = "12/12"\noverhang = 0.5\nposition = [36, -4]'


def made(tmp_path, wing, path):
    file = tmp_path / "house.toml"
    file.write_text(HOUSE.format(wing=wing, path=path))
    return load_house(file)


#: The section of main across its ridge, in feet (y, z): from the walls up to the upper face.
SECTION = Polygon([(0, 0), (24, 0), (24, 9 + 8 / 12), (12, 9 + 8 / 12 * 13), (0, 9 + 8 / 12)])
#: With the eaves: a roof 6 in thick, as far as it reaches.
ROOF = Polygon([(-1, 8.5), (-1, 9), (12, 9 + 8 / 12 * 13), (25, 9), (25, 8.5)])


@pytest.mark.parametrize(
    ("wing", "edge"),
    [(L_WING, "wing/ridge"), (L_WING, "wing/eave-left"), (TOWER, "wing/eave-left")],
)
def test_an_edge_that_runs_back_goes_in_where_the_section_says(tmp_path, wing, edge):
    """Drawn by hand, cut by shapely. The wing's eave, level with main's, goes in at main's own."""
    house = made(tmp_path, wing, '"main/ridge"')
    points = house.edges[edge].points[:, 1:] / FOOT
    if points[0, 0] > points[1, 0]:
        points = points[::-1]
    line = LineString(points)
    expected = line.intersection(SECTION.union(ROOF))
    found = passages(solids(house.masses[0]), house.edges[edge].points)
    if expected.length < 0.1:  # the tower's eave is above main's roof, or along it
        assert found == []
    else:
        total = sum(high - low for low, high in found) / FOOT
        assert total == pytest.approx(expected.length, abs=0.02)


def test_meets_is_the_length_that_a_person_works_out(tmp_path):
    """The wing's ridge is at 9 ft and 8/12 of 9 ft: 15 ft.

    Main's roof gets there 9 ft inside its eave at y = -1 ft, so at y = 8 ft; the ridge begins at
    y = -11 ft.
    """
    path = '{ edge = "wing/ridge", stop = "meets main" }'
    house = made(tmp_path, L_WING, path)
    (run,) = house.lines[0].path
    assert float(run.stop) / FOOT == pytest.approx(19, abs=1e-4)
    # of main's eave in front of the wing, what is left comes out of the wing's roof at its rim
    path = '{ edge = "main/eave-front", start = "meets wing" }'
    (run,) = made(tmp_path, L_WING, path).lines[0].path
    assert float(run.start) / FOOT == pytest.approx(1 + 4 + 16 + 1, abs=1e-4)
    path = '{ edge = "main/eave-front", stop = "meets wing" }'
    (run,) = made(tmp_path, L_WING, path).lines[0].path
    assert float(run.stop) / FOOT == pytest.approx(1 + 4 - 1, abs=1e-4)


@pytest.mark.parametrize(
    ("path", "message"),
    [
        ('{ edge = "wing/ridge", stop = "meets mian" }', r'stop: no mass "mian"; did you mean'),
        (
            '{ edge = "wing/rake-left", stop = "meets main" }',
            # the rakes are at y = -11 ft, and main's eave is at y = -1 ft
            r'stop: edge "wing/rake-left" never goes into "main": it passes 10 ft from it',
        ),
        (
            '{ edge = "wing/ridge", start = "meets main" }',
            # as worked out above, it goes in at 19 ft; it is 24 ft long
            r'start: edge "wing/ridge" never comes out of "main": it goes in 19 ft from its start, '
            r'and the other 5 ft are inside; did you mean stop = "meets main"\?',
        ),
        ('{ edge = "wing/rigde", stop = "meets main" }', r'no edge "wing/rigde"; did you mean'),
        ('{ edge = "wing/ridge", stop = "meet main" }', r"stop"),
        (
            '{ edge = "wing/eave-left", stop = "meets main" }',
            # it runs from the back at y = 13 ft to the front at y = -11 ft
            r'never goes into "main": its first 14 ft are inside, then it comes out; did you mean '
            r'start = "meets main"\?',
        ),
        (
            '{ edge = "wing/back-rake-left", stop = "meets main" }',
            r'never goes into "main": all of it is inside',
        ),
        ('{ edge = "wing/ridge", stop = "meets wing" }', r'into "wing", which it is part of'),
    ],
)
def test_an_edge_that_meets_nothing_is_told(tmp_path, path, message):
    with pytest.raises(InputError, match=message):
        made(tmp_path, L_WING, path)


def test_an_edge_of_a_mass_that_leans_on_another_ends_there_by_itself(tmp_path):
    leans = 'leans_on = "main"\nwidth = 16\ndepth = 8\neave = 9\nslope = "8/12"\nposition = [4, -8]'
    path = '{ edge = "wing/eave-right", stop = "meets main" }'
    with pytest.raises(InputError, match='"wing" leans on that, so its edges end there by themse'):
        made(tmp_path, leans, path)


def test_an_open_porch_has_no_room(tmp_path):
    """A line under its roof passes through nothing."""
    house = made(tmp_path, PORCH, '"main/ridge"')
    under = np.array([[0.0, -3.0, 5.0], [30.0, -3.0, 5.0]]) * FOOT
    assert passages(solids(house.masses[1]), under) == []


@pytest.mark.parametrize("name", ["alder-cottage", "marlow-bend", "tannery-row", "fern-lane"])
def test_points_on_edges_are_inside_where_pixels_are_hidden(examples, name):
    """The pixel map's own test of points, by heights, agrees but near faces."""
    house = load_house(examples / name / "house.toml")
    for edge in house.edges.values():
        if len(edge.points) != 2:
            continue
        along = np.linspace(0, edge.length, 60)
        points = edge.points[0] + along[:, None] / edge.length * (edge.points[1] - edge.points[0])
        for mass in house.masses:
            if mass.name == edge.mass:
                continue
            deep = inside(mass, points)
            spans = passages(solids(mass), edge.points)
            within = np.array([any(a <= s <= b for a, b in spans) for s in along])
            assert not (deep & ~within).any(), (edge.name, mass.name)
            in_or_on = along[inside(mass, points, -1e-6)]
            for s in along[within]:  # or in a gap that counts as part of it
                assert np.abs(in_or_on - s).min() < NEAR, (edge.name, mass.name, s)
