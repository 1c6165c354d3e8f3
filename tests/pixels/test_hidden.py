"""Pixels inside another mass are reported, with the position to end the edge at."""

import re

import pytest

from lumenmap.core.units import length
from lumenmap.house.reading.load import load_house
from lumenmap.pixels.build import map_pixels
from lumenmap.pixels.hidden import Met, between

#: An L: the wing's gable roof grows out of the main roof's front slope.
HOUSE = """
[house]
name = "L"
unit = "ft"
[[mass]]
name = "main"
ridge = "across"
width = 40
depth = 24
eave = 9
slope = "6/12"
overhang = 1
[[mass]]
name = "wing"
roof = "{roof}"
position = [22, -12]
width = {width}
depth = 24
{slope}
overhang = 1
{walls}
[rail]
length = "8 ft"
hole_spacing = "4 in"
[pixel]
kind = "ws2811-12v"
[[line]]
name = "front"
path = [{path}]
[[supply]]
name = "garage"
volts = 12
amps = 5
[[feed]]
supply = "garage"
to = "front"
fuse = 5
"""
SLOPE = 'eave = 9\nslope = "6/12"'


@pytest.fixture
def write(tmp_path):
    def made(path='"main/eave-front"', roof="gable", slope=SLOPE, width="18", walls=""):
        file = tmp_path / "house.toml"
        file.write_text(HOUSE.format(path=path, roof=roof, slope=slope, width=width, walls=walls))
        return file

    return made


@pytest.mark.parametrize(
    ("roof", "slope"),
    [
        ("gable", SLOPE),
        ("hip", SLOPE),
        ("shed", SLOPE),
        ("shed", SLOPE + '\nhigh = "right"'),
        ("flat", "eave = 10"),
    ],
)
def test_an_eave_that_runs_into_a_wing_is_told_for_all_roofs(write, roof, slope):
    """The main eave, 42 ft from x = -1, meets the wing's wall at x = 22: 23 ft along it."""
    (note,) = map_pixels(load_house(write(roof=roof, slope=slope))).notes
    found = re.fullmatch(
        r'line "front": pixels (\d+)-12[3-6] of main/eave-front are inside wing, where nobody sees '
        r'them; end the edge with stop = "meets wing"',
        note,
    )
    assert found, note
    # The holes are 4 in apart, the first 2 in from the end; the roof reaches 1 ft beyond the wall.
    assert 22 <= (int(found[1]) - 0.5) / 3 <= 23.5
    ends = load_house(
        write('{ edge = "main/eave-front", stop = "meets wing" }', roof=roof, slope=slope)
    )
    assert 22 - 1 / 3 <= float(ends.lines[0].path[0].stop) / 0.3048 <= 23.5
    assert map_pixels(ends).notes == ()


def test_doing_what_the_note_says_silences_it(write):
    before = map_pixels(load_house(write()))
    stop = re.search(r'stop = ".*?"', before.notes[0])[0]
    after = map_pixels(load_house(write(f'{{ edge = "main/eave-front", {stop} }}')))
    assert after.notes == ()
    # Those that are left, or one fewer: the edge's bare ends are as long as each other again.
    count = int(re.search(r"pixels (\d+)-", before.notes[0])[1]) - 1
    assert count - 1 <= len(after) <= count
    assert (after.xyz[:, 0] < before.xyz[count, 0] - 0.05).all()


def test_a_stretch_in_the_middle_gives_both_ends(write):
    (note,) = map_pixels(load_house(write(width="8"))).notes
    assert note.endswith('stop = "meets wing", and continue it with start = "meets wing"')


def test_pixels_far_apart_are_one_stretch_all_the_same(write):
    file = write()
    file.write_text(file.read_text().replace('"4 in"', '"2 ft"'))
    notes = [n for n in map_pixels(load_house(file)).notes if "inside" in n]
    assert len(notes) == 1 and "pixels 13-20 of main/eave-front" in notes[0]


def test_numbers_follow_the_data_and_start_is_where_the_edge_starts(write):
    """A wing's left eave runs from the back, so what is hidden of it is its start."""
    (note,) = map_pixels(load_house(write('"wing/eave-left reversed"'))).notes
    assert "pixels 38-78 of wing/eave-left are inside main" in note
    assert note.endswith('; start the edge with start = "meets main"')


def test_a_tape_that_differs_from_the_model_has_its_own_length(write):
    """The edge is 42 ft in the model, and 43 ft on the tape: what it meets is stretched likewise."""
    file = write('{ edge = "main/eave-front", stop = "meets wing" }')
    plain = float(load_house(file).lines[0].path[0].stop)
    file.write_text(file.read_text() + '[[edge]]\nname = "main/eave-front"\nmeasured = 43\n')
    house = load_house(file)
    assert float(house.lines[0].path[0].stop) == pytest.approx(plain * 43 / 42, abs=1e-5)
    file.write_text(file.read_text().replace(', stop = "meets wing"', ""))
    notes = [n for n in map_pixels(load_house(file)).notes if "inside" in n]
    assert len(notes) == 1 and notes[0].endswith('stop = "meets wing"')


def test_where_no_mass_is_met_the_place_is_a_length(write):
    house = load_house(write())
    met = Met(house.edges["main/eave-front"], [], "ft")
    assert met.place(6.71, 6.80, into=True) == '"22 ft 2 in"'
    wing = Met(house.edges["main/eave-front"], house.masses[1:], "ft")
    assert wing.place(6.71, 6.80, into=True) == '"meets wing"'
    assert wing.place(9.0, 9.1, into=True) == '"29 ft 8 in"'


def test_an_edge_all_inside_is_to_be_left_out(write):
    """The far side of the wing's roof, deep in the main one's, but for its first 18 in."""
    path = '{ edge = "wing/back-rake-right", start = "18 in" }'
    (note,) = map_pixels(load_house(write(path))).notes
    assert note.endswith("; leave it out of the path")


def test_an_open_roof_on_posts_hides_only_what_is_in_its_thickness(write):
    path = '"main/rake-right-front"'
    assert map_pixels(load_house(write(path, walls="walls = false"))).notes == ()
    notes = map_pixels(load_house(write(walls="walls = false"))).notes
    assert all(int(b) - int(a) < 6 for a, b in re.findall(r"pixels (\d+)-(\d+)", " ".join(notes)))


def test_houses_without_hidden_pixels_get_no_note(examples):
    for name in ("alder-cottage", "tannery-row", "kelder-studio"):
        assert map_pixels(load_house(examples / name / "house.toml")).notes == ()


@pytest.mark.parametrize(
    ("low", "high", "unit", "place"),
    [
        (6.71, 6.80, "ft", "22 ft 2 in"),
        (6.6, 6.8, "ft", "22 ft"),
        (3.31, 3.38, "m", "3.35 m"),
        (3.9, 4.2, "m", "4 m"),
    ],
)
def test_a_place_between_holes_is_as_round_as_can_be(low, high, unit, place):
    assert between(low, high, unit) == length(place)


def test_map_sheets_power_and_make_tell_it(write, lumenmap, tmp_path):
    house = write()
    sentence = "pixels 68-125 of main/eave-front are inside wing"
    assert sentence in lumenmap("map", house).out
    assert sentence in lumenmap("power", house).out
    assert sentence in lumenmap("sheets", house, "-o", tmp_path / "s").out
    page = (tmp_path / "s" / "sheets.html").read_text()
    assert sentence in page.replace("\N{WORD JOINER}", "")  # numbers stay on one line
    show = tmp_path / "show.toml"
    show.write_text(
        '[show]\nname = "S"\nhouse = "house.toml"\nfps = 20\nlength = "1 s"\nseed = 1\n'
        '[[cue]]\n[[cue.layer]]\neffect = "still"\n'
    )
    done = lumenmap("make", show, "-o", tmp_path / "out", "--json")
    assert sentence in done.out, done
    assert sentence in lumenmap("make", show, "-o", tmp_path / "out").out
