"""Mistakes of a house file that show once its pixels are laid."""

import pytest

from lumenmap.core.errors import InputError
from lumenmap.pixels.build import map_pixels

PATH = '"main/rake-left", "main/rake-right"'


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            PATH,
            '"main/rake-left", "main/eave-right"',
            r'line "front", path item 2: there is a gap of 15 ft 8 in from the end of "main/rake-left" to the start of "main/eave-right"; put \{ jumper = "15 ft 8 in" \}',
        ),
        (
            PATH,
            '"main/rake-left", { jumper = "4 ft" }, "main/eave-right"',
            r"line .front., path item 2 \(jumper\): the jumper of 4 ft is too short: it is 15 ft 8 in",
        ),
        (
            PATH,
            '"main/rake-left", "main/rake-right reversed"',
            r'to the start of "main/rake-right reversed"; .* or reverse an edge: "main/rake-right"',
        ),
        (
            PATH,
            '"main/rake-left reversed", "main/rake-right"',
            r'or reverse an edge: "main/rake-left"',
        ),
        (
            PATH,
            '"main/rake-right", "main/rake-left"',
            r'or reverse both edges: "main/rake-right reversed" and "main/rake-left reversed"',
        ),
        (
            PATH + "]",
            PATH + "]\npixels = 130",
            r'line "front", pixels: is 130, 6 more than the path has holes \(124\): cut 6 off the string, or hide them with \{ spares = 6 \}',
        ),
        (
            PATH + "]",
            PATH + "]\npixels = 120",
            r"is 120, 4 fewer than the path has holes \(124\): add 4 pixels to the string, or stop",
        ),
        (
            PATH + "]",
            PATH + "]\ndead = [125]",
            r'line "front", dead: is 125, but the line has 124 pixels',
        ),
        (
            '"3 in"',
            '"0.001 in"',
            r"rail.hole_spacing: makes 374,976 pixels; at most 200,000 are supported. A hole every 0.0254 mm",
        ),
        (
            "[[line]]",
            '[[edge]]\nname = "x"\npoints = [[0,-9,8],["1 in",-9,8]]\n[[line]]\nname = "tiny"\npath = ["x"]\n[[line]]',
            r'line "tiny": has edges too short for a single hole',
        ),
        (
            "[[supply]]",
            '[group]\na = ["b"]\nb = ["a"]\n[[supply]]',
            r"group.a: contains itself: a > b > a",
        ),
        (
            "[[supply]]",
            '[group]\na = ["main/rak"]\n[[supply]]',
            r'group.a: no place "main/rak"; did you mean "main/rake-',
        ),
        (
            PATH + "]",
            PATH
            + ']\nuniverse = 63999\n[[line]]\nname = "b"\npath = ["main/eave-left"]\nuniverse = 64000',
            r"line \"b\", universe",
        ),
    ],
)
def test_a_mistake_that_shows_on_the_map(load, old, new, says):
    with pytest.raises(InputError, match=r"house\.toml: .*" + says) as caught:
        map_pixels(load((old, new)))
    assert all(line.startswith("house.toml: ") for line in str(caught.value).splitlines())


def test_a_gap_that_comes_of_a_wrong_unit_is_told_with_it(load):
    """Inches were meant: 18 ft of floor, and a jumper of 30 ft that is too short."""
    porch = '[[mass]]\nname = "porch"\nroof = "flat"\nwidth = 8\ndepth = 6\neave = 8\nposition = [30, 0]\n'
    path = '"main/rake-left", { jumper = 30 }, "porch/eave-front"'
    assert map_pixels(load((PATH, path), add=f"{porch}base = 1.5\n"))
    with pytest.raises(InputError) as told:
        map_pixels(load((PATH, path), add=f"{porch}base = 180\n"))
    gap, unit = str(told.value).splitlines()
    assert "the jumper of 30 ft is too short" in gap
    assert unit.startswith('house.toml: mass "porch" (180 ft): a floor that high above the ground')
    with pytest.raises(InputError) as told:  # nothing is wrong but the jumper
        map_pixels(load((PATH, path.replace("30", "3")), add=porch))
    assert len(str(told.value).splitlines()) == 1


def test_all_gaps_of_all_lines_are_told_at_once(load):
    """One was told for each run of a command: a path of eight edges took eight."""
    more = """
[[line]]
name = "back"
path = ["main/back-rake-right", { jumper = "1 ft" }, "main/eave-left", "main/ridge"]
"""
    house = load((PATH, '"main/rake-left", "main/eave-right"'), add=more)
    with pytest.raises(InputError) as error:
        map_pixels(house)
    assert [one.key for one in error.value.each] == [
        'line "front", path item 2',
        'line "back", path item 2 (jumper)',
        'line "back", path item 4',
    ]
