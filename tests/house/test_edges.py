"""Edges by legs and by meeting roofs, taped lengths, and what the file says about known edges."""

import numpy as np
import pytest
import shapely
import trimesh

from lumenmap.core.errors import InputError
from lumenmap.core.units import length
from lumenmap.house.reading.load import load_house
from lumenmap.pixels.build import map_pixels
from lumenmap.site import Site
from tests.small_house import HOUSE

FOOT = 0.3048
EDGE = """
[[edge]]
name = "deck"
start = [30, 0, 3]
"""


def test_legs_follow_the_compass(load):
    """The front faces south by default, so north is away from the street and east to the right."""
    house = load(
        add=EDGE + 'legs = [{ length = 10, heading = "90 deg" }, { length = 5, left = 90 }]'
    )
    points = house.edges["deck"].points / FOOT
    assert points == pytest.approx(np.array([[30, 0, 3], [40, 0, 3], [40, 5, 3]]))
    assert house.corners["deck/end"] == pytest.approx(points[-1] * FOOT)


def test_legs_turn_with_the_house(load):
    """A front that faces east looks along 90 deg, so a leg of that heading comes to the street."""
    house = load(
        ('unit = "ft"', 'unit = "ft"\nfront_faces = "90 deg"'),
        add=EDGE + "legs = [{ length = 10, heading = 90 }]",
    )
    assert house.edges["deck"].points[1] / FOOT == pytest.approx([30, -10, 3])


def test_a_sloping_leg_is_as_long_as_the_tape_along_it(load):
    """A 3-4-5 triangle: 10 ft along a slope of 9/12 rises 6 ft over 8."""
    house = load(add=EDGE + 'legs = [{ length = 10, heading = 90, slope = "9/12" }]')
    assert house.edges["deck"].points[1] / FOOT == pytest.approx([38, 0, 9])
    down = load(add=EDGE + 'legs = [{ length = 10, heading = 90, slope = "-3/12" }]')
    assert down.edges["deck"].points[1][2] < 3 * FOOT


def test_a_loop_reports_its_misclosure_and_shares_it_out(load):
    """Compass rule: each corner moves by the miss times its share of the length (from memory).

    A square of 10 ft with a last side of 9 ft 9 in misses by 3 in after 39 ft 9 in: 1 in 159.
    """
    house = load(
        add=EDGE
        + """closed = true
legs = [{ length = 10, heading = 90 }, { length = 10, left = 90 }, { length = 10, left = 90 },
        { length = "9 ft 9 in", left = 90 }]"""
    )
    (note,) = [n for n in house.notes if "deck" in n]
    assert "misses its start by 3 in (1 in 159)" in note
    points = house.edges["deck"].points / FOOT
    assert points[-1] == pytest.approx(points[0])
    assert points[1] == pytest.approx([40, -0.25 * 10 / 39.75, 3])
    whole = load(
        add=EDGE + "closed = true\nlegs = [{ length = 10, heading = 90 },"
        "{ length = 10, left = 90 }, { length = 10, left = 90 }, { length = 10, left = 90 }]"
    )
    assert any("the loop of 40 ft closes" in n for n in whole.notes)


WING = """
[[mass]]
name = "wing"
roof = "{roof}"
width = 16
depth = 30
position = [4, -10]
eave = {eave}
slope = "{slope}"
overhang = 1

[[edge]]
name = "valley"
between = ["main/eave-front", "wing/eave-left"]
"""


@pytest.mark.parametrize(
    ("roof", "eave", "slope"),
    [("gable", 9, "8/12"), ("hip", 9, "8/12"), ("gable", 8, "12/12"), ("gable", 10, "6/12")],
)
def test_a_valley_is_where_an_independent_library_cuts_the_planes(load, roof, eave, slope):
    """trimesh slices one roof plane by the other's plane; the valley is the shared stretch."""
    house = load(
        ('roof = "gable"\nwidth = 24', 'roof = "gable"\nridge = "across"\nwidth = 40'),
        ('"main/rake-left", "main/rake-right"', '"main/eave-front"'),
        add=WING.format(roof=roof, eave=eave, slope=slope),
    )
    faces = {f.name: f.corners for f in house.faces}
    one, two = faces["main/roof-front"], faces["wing/roof-left"]

    def cut(p, q):
        normal = np.cross(q[1] - q[0], q[2] - q[0])
        mesh = trimesh.Trimesh(p, [[0, i, i + 1] for i in range(1, len(p) - 1)], process=False)
        lines = trimesh.intersections.mesh_plane(mesh, normal / np.linalg.norm(normal), q[0])
        return shapely.union_all([shapely.LineString(s) for s in lines])

    # in plan, where shapely can intersect the two cuts
    way = shapely.intersection(cut(one, two).buffer(1e-7), cut(two, one))
    valley = house.edges["valley"]
    assert valley.kind == "valley"
    assert (
        shapely.hausdorff_distance(shapely.LineString(valley.points[:, :2]), shapely.force_2d(way))
        < 1e-5
    )
    assert valley.points[1][2] > valley.points[0][2]
    assert valley.facing[2] > 0


def test_an_equal_pitch_valley_has_the_published_factor(load):
    """Hip and valley factor at 8/12: 1.5635 per unit of common run [P formula, K value]."""
    house = load(
        ('roof = "gable"\nwidth = 24', 'roof = "gable"\nridge = "across"\nwidth = 40'),
        ('"main/rake-left", "main/rake-right"', '"main/eave-front"'),
        add=WING.format(roof="gable", eave=9, slope="8/12"),
    )
    assert house.edges["valley"].length / FOOT / (8 + 1) == pytest.approx(1.5635, abs=6e-5)


def test_a_taped_length_rules_the_pixels_and_is_reported_past_one_per_cent(load):
    known = '\n[[edge]]\nname = "main/rake-left"\nmeasured = "{}"\n'
    plain = load()
    model = plain.edges["main/rake-left"].length
    near = load(add=known.format("15 ft 8 in"))
    assert not any("tape" in n for n in near.notes)
    far = load(add=known.format("16 ft 2 in"))
    (note,) = [n for n in far.notes if "tape" in n]
    assert (
        '"main/rake-left" (16 ft 2 in on the tape, 15 ft 7 1/2 in in the model, 3.5 % longer): the'
        in note
    )
    pixels = map_pixels(far)
    first = pixels.edge_names.index("main/rake-left")
    assert pixels.edge_length[pixels.edge == first] == pytest.approx(16 * FOOT + 2 * 0.0254)
    assert (pixels.edge == first).sum() == 64  # 194 in at 3 in; the model's 187.5 in hold 62
    # they still lie on the model's line
    ends = far.edges["main/rake-left"].points
    line = shapely.LineString(ends[:, [0, 2]])
    for x, _, z in pixels.xyz[pixels.edge == first]:
        assert line.distance(shapely.Point(x, z)) < 1e-9
    assert model == pytest.approx(far.edges["main/rake-left"].length)


def test_an_edge_may_have_rails_of_its_own(load):
    house = load(
        add='\n[[edge]]\nname = "main/rake-right"\nhole_spacing = "6 in"\nfacing = "down"\n'
    )
    pixels = map_pixels(house)
    right = pixels.edge == pixels.edge_names.index("main/rake-right")
    assert right.sum() == 31 and (~right).sum() == 62
    assert pixels.facing[right] == pytest.approx(np.tile([0, 0, -1.0], (31, 1)))
    assert house.edges["main/rake-right"].rail.hole_spacing == length("6 in")


def test_a_leg_may_go_straight_up_or_down(load):
    """As the reference says: a post of 8 ft, a beam of 5 ft, a post down again."""
    legs = """legs = [{ length = 8, slope = "up" }, { length = 5, heading = 90 },
    { length = 8, slope = "down" }]"""
    points = load(add=EDGE + legs).edges["deck"].points / FOOT
    assert points == pytest.approx(
        np.array([[30, 0, 3], [30, 0, 11], [35, 0, 11], [35, 0, 3]]), abs=1e-9
    )
    turned = 'legs = [{ length = 4, heading = 90 }, { length = 8, slope = "up" }, { length = 5, left = 90 }]'
    assert load(add=EDGE + turned).edges["deck"].points[-1] / FOOT == pytest.approx([34, 5, 11])


SQUARE = """closed = true
legs = [{ length = 10, heading = 90 }, { length = 10, left = 90 }, { length = 10, left = 90 },
        { length = 10, left = 90 }]"""
ON_LINE = '[[line]]\nname = "deck"\npath = ["deck"]\n'


@pytest.mark.parametrize("way", ["legs", "legs clockwise", "points"])
def test_each_side_of_a_closed_line_shines_outwards(load, way):
    """A square from (30, 0) ft: its middle is at (35, 5), and light leaves it on all four sides."""
    square = {
        "legs": SQUARE,
        "legs clockwise": SQUARE.replace("heading = 90", "heading = 0").replace("left", "right"),
        "points": "points = [[30, 0, 3], [40, 0, 3], [40, 10, 3], [30, 10, 3], [30, 0, 3]]",
    }[way]
    text = EDGE.replace("start = [30, 0, 3]\n", "") if way == "points" else EDGE
    house = load(add=text + square + "\n" + ON_LINE)
    pixels = map_pixels(house)
    deck = pixels.edge == pixels.edge_names.index("deck")
    out = pixels.xyz[deck] - np.array([35, 5, 3]) * FOOT
    assert np.sum(out * pixels.facing[deck], axis=1) == pytest.approx(5 * FOOT)
    assert {tuple(f) for f in np.round(pixels.facing[deck]) + 0.0} == {
        (0, -1, 0),
        (1, 0, 0),
        (0, 1, 0),
        (-1, 0, 0),
    }


def test_a_closed_line_may_still_be_told_where_to_shine(load):
    house = load(add=EDGE + SQUARE + '\nfacing = "down"\n')
    assert (house.edges["deck"].facings == [0, 0, -1]).all()


OPENINGS = """
[[mass.window]]
name = "Mia"
at = 6
width = 3
height = 4
sill = 2
[[mass.window]]
wall = "right"
at = 6
width = 3
height = 4
sill = 2
[[mass.door]]
at = 14
width = 3
height = 7
[rail]"""


def test_windows_and_doors_have_edges_that_lines_and_groups_use(load):
    path = '"main/Mia", { jumper = "30 ft" }, "main/window 2", { jumper = "30 ft" }, "main/door 1"'
    house = load(
        ("\n[rail]", OPENINGS),
        ('"main/rake-left", "main/rake-right"', path),
        add='[group]\nchildren = ["window"]\n',
    )
    pixels = map_pixels(house)
    on = {n: pixels.edge == pixels.edge_names.index(n) for n in ("main/Mia", "main/door 1")}
    x, y, z = pixels.xyz[on["main/Mia"]].T / FOOT
    assert house.edges["main/Mia"].length / FOOT == pytest.approx(14)  # all four sides
    assert (x.min(), x.max(), z.min(), z.max()) == pytest.approx((4.5, 7.5, 2, 6))
    assert y == pytest.approx(-0.02 / FOOT)  # just in front of the wall
    assert (pixels.facing[on["main/Mia"]] == [0, -1, 0]).all()
    assert house.edges["main/door 1"].length / FOOT == pytest.approx(17)  # no sill
    assert pixels.xyz[on["main/door 1"], 2].max() / FOOT == pytest.approx(7)
    right = pixels.edge == pixels.edge_names.index("main/window 2")
    assert pixels.xyz[right, 0] / FOOT == pytest.approx(24 + 0.02 / FOOT)
    assert (pixels.facing[right] == [1, 0, 0]).all()
    assert (pixels.groups["children"] == (on["main/Mia"] | right)).all()
    assert pixels.notes == ()


def test_two_openings_of_one_name_are_a_mistake(load):
    with pytest.raises(InputError, match='mass "main", window 2: is named "Mia", as another edge'):
        load(("\n[rail]", OPENINGS.replace('wall = "right"', 'name = "Mia"')))


def test_a_mass_has_no_heading_any_more(load):
    with pytest.raises(InputError, match='mass "main", heading: is called "rotate" now'):
        load(("width = 24", "width = 24\nheading = 10"))


def test_a_house_needs_no_supply_to_be_mapped(tmp_path):
    file = tmp_path / "house.toml"
    file.write_text(HOUSE[: HOUSE.index("[[supply]]")])
    house = load_house(file)
    assert len(map_pixels(house)) == 124
    with pytest.raises(InputError, match=r"has no \[\[supply\]\]"):
        _ = Site(house).wiring


@pytest.mark.parametrize(("written", "kind"), [("", "rail line"), ('kind = "fascia"', "fascia")])
def test_an_edge_of_your_own_is_of_the_kind_that_you_say(load, written, kind):
    line = "points = [[0, -9, 3], [9, -9, 3]]"
    assert load(add=f'[[edge]]\nname = "fence"\n{line}\n{written}\n').edges["fence"].kind == kind


def test_the_first_hole_of_an_edge_is_half_of_its_own_spacing(load):
    """As of any rail; an edge that differs in something else has the house's first hole."""
    edges = load(
        ('hole_spacing = "3 in"', 'hole_spacing = "3 in"\nfirst_hole = "1 in"'),
        add='[[edge]]\nname = "main/rake-left"\nhole_spacing = "5 in"\n'
        '[[edge]]\nname = "main/rake-right"\nclear_start = "2 in"\n',
    ).edges
    left, right = edges["main/rake-left"].rail, edges["main/rake-right"].rail
    assert (left.hole_spacing, left.first_hole) == (length("5 in"), length("2.5 in"))
    assert (right.hole_spacing, right.first_hole) == (length("3 in"), length("1 in"))
