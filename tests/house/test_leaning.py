"""Roofs that lean: where they meet the other mass, worked out by hand in feet; and what is refused."""

import math
import re

import numpy as np
import pytest

from lumenmap.core.errors import InputError
from lumenmap.house.hull.faces import hull, meetings
from lumenmap.house.model import Run
from lumenmap.house.reading.load import load_house
from lumenmap.pixels.build import map_pixels
from lumenmap.solids.outside import area
from tests.house.six_houses import FILES, FOOT, FRAME, MAIN, text


@pytest.fixture
def made(tmp_path):
    def load(content, path='"main/eave-front"'):
        file = tmp_path / "house.toml"
        file.write_text(FRAME.format(name="Leaning", path=path) + content)
        return load_house(file)

    return load


def ends(house, name):
    return house.edges[name].points / FOOT


def test_a_porch_leans_on_the_main_slope(made):
    """Its roof is 8.5 + (y + 9)/4 high, main's 9 + 8/12 (y + 1): they meet at y = 2.6, 11.4 ft up."""
    house = made(FILES["porch"])
    assert ends(house, "porch/rake-right") == pytest.approx(
        np.array([[30.5, -9, 8.5], [30.5, 2.6, 11.4]])
    )
    assert ends(house, "porch/rake-left")[0] == pytest.approx([9.5, 2.6, 11.4])
    assert ends(house, "porch/eave-front") == pytest.approx(
        np.array([[9.5, -9, 8.5], [30.5, -9, 8.5]])
    )
    assert "porch/ridge" not in house.edges  # its upper end is inside main
    assert house.corners["porch/back-right"] / FOOT == pytest.approx([30.5, 2.6, 11.4])


def test_a_porch_leans_on_the_main_wall(made):
    """Below main's eave its roof ends at the wall, y = 0, though the roof over it reaches out."""
    house = made(FILES["porch"].replace("eave = 8.5", "eave = 6"))
    assert ends(house, "porch/rake-right")[1] == pytest.approx([30.5, 0, 6 + 9 / 4])


def test_a_dormer_grows_out_of_the_roof(made):
    """Eaves 14 ft, ridge 10 + 4 + 8/12 of 4.25 = 16.83 ft up; main's roof is 9 + 8/12 (y + 1)."""
    house = made(FILES["dormer"])
    assert ends(house, "dormer/ridge")[:, 1] == pytest.approx([3.5, 10.75])
    assert ends(house, "dormer/eave-right")[:, 1] == pytest.approx([3.5, 6.5])
    assert ends(house, "dormer/eave-left")[:, 1] == pytest.approx([6.5, 3.5])
    assert not any("dormer/back-rake" in name for name in house.edges)
    assert {"dormer/rake-left", "dormer/rake-right"} <= house.edges.keys()


def test_how_deep_a_mass_that_leans_was_said_to_be_does_not_matter(made):
    """Seen from outside it's the same house; only what is hidden differs."""
    short, long = (made(FILES["dormer"].replace("depth = 4", f"depth = {d}")) for d in (1.5, 6))
    for name in short.edges:
        if not name.startswith("dormer/window"):
            assert ends(short, name) == pytest.approx(ends(long, name)), name
    seen = [sum(area(f.corners) for f in hull(h) if f.kind != "window") for h in (short, long)]
    assert seen[0] == pytest.approx(seen[1])


SHED = """
[[mass]]
name = "lean"
roof = "shed"
high = "{high}"
width = {width}
depth = {depth}
position = [{x}, {y}]
eave = 6
slope = "3/12"
overhang = {{ eaves = 1 }}
leans_on = "main"
{walls}
[[mass.{opening}]]
wall = "{wall}"
at = 2
width = 1
height = 3
"""
BOX = """
[[mass]]
name = "main"
roof = "flat"
width = 20
depth = 20
eave = 12
"""
#: high, size, place, and the wall whose left end is towards the box
SIDES = {
    "back": (8, 5, 6, -7, "left"),
    "front": (8, 5, 6, 22, "right"),
    "left": (5, 8, 22, 6, "back"),
    "right": (5, 8, -7, 6, "front"),
}


@pytest.mark.parametrize("high", SIDES)
def test_it_leans_with_every_side(made, high):
    """5 ft deep, 2 ft away from a box: the rakes are 8 ft level, whichever side it stands on."""
    width, depth, x, y, _ = SIDES[high]
    shed = SHED.format(high=high, width=width, depth=depth, x=x, y=y, walls="", **OPEN)
    house = made(BOX + shed)
    rakes = [e for n, e in house.edges.items() if n.startswith("lean/rake")]
    assert len(rakes) == 2
    for rake in rakes:
        assert rake.length / FOOT == pytest.approx(8 * math.hypot(1, 1 / 4))
        assert rake.points[:, 2].max() / FOOT == pytest.approx(6 + 8 / 4)
    # its walls go on with it: no gap of 2 ft
    walls = [f for f in hull(house) if f.name.startswith("lean/wall")]
    assert len({f.name for f in walls}) == 3


OPEN = {"opening": "window", "wall": "front"}


@pytest.mark.parametrize("high", SIDES)
def test_openings_stay_where_they_were_though_walls_go_on(made, high):
    """``at`` counts from the left end that the wall has in the file."""
    width, depth, x, y, wall = SIDES[high]
    shed = SHED.format(
        high=high, width=width, depth=depth, x=x, y=y, walls="", opening="door", wall=wall
    )
    alone = made(BOX + shed.replace('leans_on = "main"\n', ""))
    house = made(BOX + shed)
    doors = [next(f for f in h.faces if f.kind == "door") for h in (alone, house)]
    assert doors[1].corners == pytest.approx(doors[0].corners)


def test_it_turns_with_the_house(made):
    """Both masses rotated by 30 degrees about the origin: every edge is, too."""
    c, s = math.cos(math.radians(30)), math.sin(math.radians(30))
    straight = made(FILES["dormer"])
    x, y = 16 * c - 4 * s, 16 * s + 4 * c
    turned = FILES["dormer"].replace("position = [16, 4]", f"position = [{x:.6f}, {y:.6f}]")
    house = made(turned.replace("eave = ", "rotate = 30\neave = "))
    rotation = np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])
    assert house.edges.keys() == straight.edges.keys()
    for name in straight.edges:
        expected = ends(straight, name) @ rotation.T
        assert ends(house, name) == pytest.approx(expected, abs=2e-4), name


def test_a_gable_leans_with_the_end_that_is_not_its_hip(made):
    """A stoop with a hip to the street: its ridge, 8 + (1 + 5)/2 = 11 ft up, goes in at y = 2."""
    stoop = (
        FILES["porch"].partition('[[mass]]\nname = "porch"')[0]
        + """
[[mass]]
name = "stoop"
hip_end = "front"
width = 10
depth = 7
position = [10, -7]
eave = 8
slope = "6/12"
overhang = { eaves = 1 }
walls = false
leans_on = "main"
"""
    )
    house = made(stoop)
    assert ends(house, "stoop/ridge") == pytest.approx(np.array([[15, -2, 11], [15, 2, 11]]))
    assert {"stoop/hip-front-left", "stoop/hip-front-right"} <= house.edges.keys()
    assert not any("rake" in n for n in house.edges if n.startswith("stoop"))


def test_one_leans_on_another_that_leans(made):
    """A canopy on the dormer's front, which itself grows out of the roof."""
    canopy = """
[[mass]]
name = "canopy"
roof = "shed"
width = 3
depth = 1
position = [18, 3]
base = 12
eave = 0.5
slope = "2/12"
walls = false
leans_on = "dormer"
"""
    house = made(FILES["dormer"] + canopy)
    assert ends(house, "canopy/rake-right")[1, 1] == pytest.approx(4)
    first = made(MAIN + canopy + FILES["dormer"].removeprefix(MAIN))
    assert ends(first, "canopy/rake-right")[1, 1] == pytest.approx(4)


def test_pixels_on_edges_that_lean_are_all_in_sight(made):
    """There is no stretch to leave out: what would be inside isn't part of the edge."""
    for name in ("porch", "dormer"):
        edges = [n for n in made(FILES[name]).edges if n.startswith(f"{name}/")]
        assert edges
        for edge in edges:
            house = made(FILES[name], f'"{edge}"')
            assert [n for n in map_pixels(house).notes if "inside" in n] == [], edge


BAD = {
    'leans_on = "mian"': r'mass "porch", leans_on: no mass "mian"; did you mean "main"\? Masses: main',
    'leans_on = "porch"': r"leans_on: is \"porch\", but a mass can't lean on itself",
    'leans_on = "main"\nbase = 30': r'leans_on: is "main", but this roof passes it by',
    'leans_on = "main"\nroof = "flat"': r'goes with roof = "shed" or "gable"; this one is "flat"',
    'leans_on = "main"\nposition = [10, 6]\nbase = 2\nwalls = true': r"in front of all of it",
    'hip_end = "left"': r'hip_end: goes with roof = "gable"; this one is "shed"',
}


#: A wing at the right of the main block, flush with it: what its roof says, and what it should say.
TURNS = {
    'ridge = "away"': r'"main", which is to the left of it, but its ridge runs away from the street, '
    r'so it leans that way; write ridge = "across"',
    'roof = "shed"\nhigh = "right"': r'it rises to the right, so it leans that way; write high = "left"',
    'ridge = "across"\nhip_end = "left"': r'its hip is at the left, .* write hip_end = "right"',
}


@pytest.mark.parametrize("roof", TURNS)
def test_a_roof_that_leans_another_way_is_told_how_to_turn(made, roof):
    """It said of the first that the main block, beside it, is in front of all of it."""
    wing = """
[[mass]]
name = "wing"
leans_on = "main"
width = 20
depth = 16
position = [40, 4]
eave = 7
slope = "9/12"
overhang = 0.5
"""
    with pytest.raises(InputError, match=TURNS[roof]):
        made(MAIN + wing + roof)


@pytest.mark.parametrize("change", BAD)
def test_a_roof_that_cannot_lean_is_told(made, change):
    porch = FILES["porch"].removeprefix(MAIN)
    for line in change.splitlines():
        key = line.partition(" = ")[0]
        kept = [old for old in porch.splitlines() if not old.startswith(f"{key} = ")]
        porch = "\n".join([*kept, line]) + "\n"
    with pytest.raises(InputError, match=BAD[change]):
        made(MAIN + porch)


def test_masses_that_lean_in_a_circle_are_told_each(made):
    porch = FILES["porch"].removeprefix(MAIN)
    other = porch.replace('"porch"', '"side"').replace('"main"', '"porch"')
    with pytest.raises(InputError) as told:
        made(MAIN + porch.replace('"main"', '"side"') + other)
    assert [e.key for e in told.value.each] == [
        'mass "porch", leans_on',
        'mass "side", leans_on',
    ]
    # one that leans on such a mass isn't in the circle
    third = porch.replace('"porch"', '"third"').replace('"main"', '"porch"')
    with pytest.raises(InputError) as told:
        made(MAIN + porch.replace('"main"', '"side"') + other + third)
    circle = [e.key for e in told.value.each if "itself" in e.message]
    assert circle == ['mass "porch", leans_on', 'mass "side", leans_on']


def test_what_leans_on_a_mass_with_mistakes_is_not_a_mistake(made):
    with pytest.raises(InputError) as told:
        made(FILES["porch"].replace('slope = "8/12"\n', ""))
    assert [e.key for e in told.value.each] == ['mass "main", slope']


HIPS = {
    'hip_end = "front"': r'is "front", but the ridge runs across; expected "left" or "right"',
    'hip_end = "left"\nwidth = 12': r"its hip would reach the other end; along its ridge",
    'hip_end = "left"\noverhang = { eaves = 1, left = 2 }': (
        r'mass "main", overhang: the eaves at the front, back and left meet at corners, so they have '
        r"one overhang"
    ),
    'roof = "hip"\noverhang = { eaves = 1, left = 2 }': r"front, right, back and left meet at corners",
    "overhang = { eave = 1 }": r'mass "main", overhang.eave: no such key; did you mean "eaves"\?',
    "overhang = { left = -1 }": r"mass \"main\", overhang.left: is \"-1\"; it can't be negative",
    'overhang = "deep"': r'mass "main", overhang: length is "deep"',
}


@pytest.mark.parametrize("change", HIPS)
def test_hips_and_overhangs_that_cannot_be_are_told(made, change):
    main = MAIN.partition("[[mass.window")[0]
    for line in change.splitlines():
        key = line.partition(" = ")[0]
        kept = [old for old in main.splitlines() if not old.startswith(f"{key} = ")]
        main = "\n".join([*kept, line]) + "\n"
    with pytest.raises(InputError, match=HIPS[change]):
        made(main)


def test_overhangs_by_side(made):
    """Eaves 18 in, rakes 8 in, and 2 ft at the left end."""
    main = MAIN.partition("[[mass.window")[0].replace(
        "overhang = 1", 'overhang = { eaves = "18 in", rakes = "8 in", left = 2 }'
    )
    house = made(main)
    assert ends(house, "main/eave-front") == pytest.approx(
        np.array([[-2, -1.5, 9], [40 + 2 / 3, -1.5, 9]])
    )
    assert house.edges["main/ridge"].length / FOOT == pytest.approx(42 + 2 / 3)


def test_a_file_that_gives_one_overhang_is_read_as_ever(made):
    same = "overhang = { eaves = 1, rakes = 1 }"
    one, two = made(MAIN), made(MAIN.replace("overhang = 1", same))
    for name, edge in one.edges.items():
        assert (edge.points == two.edges[name].points).all()
    assert text("porch").startswith("\n[house]")


def test_an_ell_shaped_ranch_is_described_without_a_subtraction(examples):
    """The example gives no place on an edge as a number; by hand, they are where they should be.

    Main's eave begins at x = -1.5 ft and goes under the porch's rim at 8.5; it comes out of the
    garage's rim at 43.5 and ends at 46 ft 8 in. The garage's eave, 9 ft up, comes out of the
    porch's roof, 8 + (y + 9)/6, at y = -3, and ends at y = -14 ft 10 in.
    """
    file = examples / "juniper-flat" / "house.toml"
    places = re.findall(r'(?:start|stop) = "?([^",}]+)', file.read_text())
    assert len(places) >= 3 and all(place.startswith("meets ") for place in places)
    house = load_house(file)
    found = {}
    for line in house.lines:
        for run in (step for step in line.path if isinstance(step, Run)):
            first, last = float(run.start or 0), float(run.stop or house.edges[run.edge].length)
            found[line.name, run.edge] = (last - first) / FOOT
    assert found["front", "main/eave-front"] == pytest.approx(10, abs=1e-3)
    assert found["top", "main/eave-front"] == pytest.approx(3 + 2 / 12, abs=1e-3)
    assert found["front", "garage/eave-left"] == pytest.approx(11 + 10 / 12, abs=1e-3)
    # Its rake ends on main's roof, 9 + 5/12 (y + 1.5), at y = -0.5.
    assert found["front", "porch/rake-left"] == pytest.approx(8.5 * math.hypot(1, 1 / 6))
    assert [n for n in map_pixels(house).notes if "inside" in n] == []
    assert {"main/hip-front-left", "garage/rake-left", "porch/eave-front"} <= house.edges.keys()
    roofs = [
        {one.name, two.name} for one, two, _ in meetings(house) if one.kind == two.kind == "roof"
    ]
    assert {"main/roof-front", "garage/roof-left"} in roofs
    assert {"main/roof-front", "porch/roof"} in roofs
