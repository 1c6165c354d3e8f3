"""A mistake in a house file gets one sentence that names the place and what would be right."""

import re

import pytest

from lumenmap.core.errors import InputError
from lumenmap.house.reading.load import load_house
from lumenmap.starter.start import start
from tests.small_house import HOUSE

PATH = '"main/rake-left", "main/rake-right"'


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            'slope = "8/12"',
            "slope = 8",
            r'mass "main", slope: is 8; write "8/12" for a rise of 8 in 12',
        ),
        ('slope = "8/12"\n', "", r'mass "main", slope: a gable roof needs a slope: rise in run'),
        ("width = 24", "width = inf", r'mass "main", width: .*finite'),
        ("width = 24", "width = nan", r'mass "main", width: .*finite'),
        ("width = 24", "width = 0", r'mass "main", width: is "0"; expected a length above 0'),
        (
            "width = 24",
            "width = 9000",
            r'mass "main", width: is "9000", over 1,640 ft, beyond any house; check the unit',
        ),
        ("width = 24", "width = true", r'mass "main", width: .*number'),
        ("width = 24", "widht = 24", r'mass "main", widht: no such key; did you mean "width"'),
        ("overhang = 1", "overhang = -1", r'mass "main", overhang: .*negative'),
        (
            'roof = "gable"',
            'roof = "gabel"',
            r'mass "main", roof: is "gabel"; did you mean "gable"',
        ),
        (
            "overhang = 1",
            'overhang = 1\nroof_colour = "reddish"',
            r'mass "main", roof_colour: no colour "reddish"; did you mean "red"',
        ),
        (
            "overhang = 1",
            "overhang = 1\n[[mass.window]]\nat = 23\nwidth = 4\nheight = 4",
            r'mass "main", window 1: 4 ft wide around 23 ft, up to 4 ft, reaches beyond the front wall, 24 ft long',
        ),
        (
            "overhang = 1",
            "overhang = 1\nwalls = false\n[[mass.door]]\nat = 3\nwidth = 3\nheight = 7",
            r'mass "main", door: has no wall to be in: this mass has walls = false',
        ),
        ('"3 in"', '"0 in"', r"rail.hole_spacing: .*above 0"),
        ('"3 in"', '"-3 in"', r"rail.hole_spacing: .*above 0"),
        (
            '"3 in"',
            '"9 ft"',
            r"rail.hole_spacing: holes 9 ft apart don't fit a stock rail of 8 ft; is that the right unit",
        ),
        ('hole_spacing = "3 in"', "", r"rail: expected either hole_spacing, or pixels"),
        (
            'hole_spacing = "3 in"',
            'hole_spacing = "3 in"\npixels = 50',
            r"rail: expected either hole_spacing, or pixels",
        ),
        (
            'hole_spacing = "3 in"',
            'hole_spacing = "3 in"\nfirst_hole = "4 in"',
            r"rail.first_hole: is 4 in; expected at most the hole spacing, 3 in",
        ),
        (
            'hole_spacing = "3 in"',
            'hole_spacing = "3 in"\ngap = "2 in"',
            r"rail.gap: a gap of 2 in at joints of rails of 8 ft leaves no rail",
        ),
        (
            'hole_spacing = "3 in"',
            'hole_spacing = "3 in"\n[drill]\ntravel = 2\nfeed = 1',
            r"drill: gives travel and feed, so a machine's program, which needs bit and depth and "
            r"retract too; for drilling by hand leave out travel and feed",
        ),
        (
            'hole_spacing = "3 in"',
            'hole_spacing = "3 in"\n[drill]\ntape = "1/12 in"',
            r'drill.tape: is "1/12 in"; did you mean "1/32 in"\? Expected "1/8 in", "1/16 in"',
        ),
        (
            'hole_spacing = "3 in"',
            'hole_spacing = "3 in"\nmaterial = "pvc pip"',
            r'rail.material: no rail material "pvc pip"; did you mean "pvc pipe"',
        ),
        (
            'hole_spacing = "3 in"',
            'hole_spacing = "3 in"\nmaterial = "pvc pipe"',
            r"rail: a material needs coldest and warmest",
        ),
        (
            'hole_spacing = "3 in"',
            'hole_spacing = "3 in"\ncoldest = "40 F"',
            r"rail.material: is missing; temperatures need a material",
        ),
        (
            'hole_spacing = "3 in"',
            'hole_spacing = "3 in"\nmaterial = "pvc pipe"\ncoldest = 95\nwarmest = 40\nin_sun = false',
            r"rail.coldest: isn.t colder than warmest",
        ),
        (
            PATH,
            '"main/rake-lft"',
            r'line "front", path item 1: no edge "main/rake-lft"; did you mean "main/rake-left"',
        ),
        (
            PATH,
            '"main/rake-left", "main/rake-left"',
            r'line "front", path item 2: edge "main/rake-left" is used twice; it is already on line "front"',
        ),
        (PATH, "{ jumper = 3 }", r'line "front", path: has no edge'),
        (
            PATH,
            '"main/rake-left", { jumper = "1 ft", spares = 2 }',
            r'line "front", path item 2 \(jumper\): has jumper and spares; expected one of',
        ),
        (
            PATH,
            '{ edge = "main/rake-left", start = "20 ft" }',
            r'line "front", path item 1: start is 20 ft, but edge "main/rake-left" is 15 ft 7 1/2 in long',
        ),
        (
            PATH,
            '{ edge = "main/rake-left", start = "9 ft", stop = "4 ft" }',
            r"line .front., path item 1: runs from 9 ft to 4 ft. Both count from the edge's own start",
        ),
        (
            PATH,
            '{ edge = "main/rake-left", start = 1, stop = 9 }, { edge = "main/rake-left", start = 8 }',
            r"line .front., path item 2: .*used twice",
        ),
        (
            "[rail]",
            '[wiring]\naccept = [{ finding = "no-fuze", of = "a", reason = "none" }]\n[rail]',
            r"wiring.accept 1, finding: .*no-fuze.*did you mean .no-fuse",
        ),
        (
            "[rail]",
            '[wiring]\naccept = [{ finding = "no-fuse", of = "a", reason = "ok" }]\n[rail]',
            r"wiring.accept 1, reason: .*10",
        ),
        (
            "[rail]",
            '[wiring]\naccept = [{ finding = "no-fuse", of = "a" }]\n[rail]',
            r"wiring.accept 1, reason: .*missing",
        ),
        (
            '"ws2811-12v"',
            '"ws2811-12v"\nmin_volts = 14',
            r"pixel.min_volts: is 14 V; expected above 7.8 V",
        ),
        (
            '"ws2811-12v"',
            '"ws2811-12v"\ndominant_nm = [620, 525, 900]',
            r"pixel.dominant_nm: is 900; expected 400 to 680",
        ),
        (
            '"ws2811-12v"',
            '"ws2811-12v"\nintensity = [620, 525]',
            r"pixel.intensity: has 2 items; expected at least 3",
        ),
        (
            '"ws2811-12v"',
            '"ws2811-12v"\norder = "RGG"',
            r'pixel.order: is "RGG"; expected RGB in the order',
        ),
    ],
)
def test_a_mistake_while_loading(load, old, new, says):
    with pytest.raises(InputError, match=r"house\.toml: " + says) as caught:
        load((old, new))
    assert all(line.startswith("house.toml: ") for line in str(caught.value).splitlines())


@pytest.mark.parametrize(
    "text",
    [
        "",
        "x",
        "[house]",
        "[house]\nname=1",
        HOUSE + "[[mass]]",
        "\x00",
        HOUSE.replace("width = 24", "width = 1" + "0" * 400),
        HOUSE.replace("width = 24", "width = 1" + "0" * 5000),
        HOUSE.replace("width = 24", "width = 0x" + "f" * 5000),
    ],
)
def test_nonsense_never_gives_a_traceback(tmp_path, text):
    from lumenmap.house.reading.load import load_house

    file = tmp_path / "house.toml"
    file.write_text(text)
    with pytest.raises(InputError, match=re.escape("house.toml")):
        load_house(file)


def test_mistakes_of_all_parts_of_a_file_come_together(tmp_path):
    """Each part is read as far as what it stands on is right; nothing is told twice."""
    text = HOUSE.replace('slope = "8/12"', 'slope = "8 twelve"')
    text = text.replace("[[supply]]", '[group]\nmain = ["main/*"]\n\n[[supply]]', 1)
    text += '\n[[feed]]\nsupply = "garge"\nto = "frnt"\n\n[[feed]]\nsupply = "garage"\nto = "bak"\n'
    file = tmp_path / "house.toml"
    file.write_text(text.replace("[pixel]\n", "[pixel]\nvlots = 5\n", 1))
    with pytest.raises(InputError) as caught:
        load_house(file)
    assert [one.key for one in caught.value.each] == ["pixel.vlots", 'mass "main", slope']
    file.write_text(text.replace('slope = "8 twelve"', 'slope = "8/12"'))
    with pytest.raises(InputError) as caught:
        load_house(file)
    assert [one.key for one in caught.value.each] == [
        "group.main",
        'feed "garge" to "frnt", supply',
        'feed "garge" to "frnt", to',
        'feed "garage" to "bak", to',
    ]
    assert all(one.line and one.file == file for one in caught.value.each)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("[[supply]]", "[supply]", "supply: [supply] is one table; write [[supply]]"),
        ("[[supply]]", "[[suply]]", 'suply: no such key; did you mean "supply"?'),
    ],
)
def test_what_follows_from_a_mistake_isnt_told(tmp_path, old, new, says):
    """Each feed from a supply that is there, but not read, would be told as one from none."""
    start(tmp_path / "h")
    file = tmp_path / "h" / "house.toml"
    file.write_text(file.read_text("utf-8").replace(old, new), "utf-8")
    with pytest.raises(InputError) as caught:
        load_house(file)
    (line,) = str(caught.value).splitlines()
    assert says in line


def test_two_feeds_with_one_mistake_are_told_once(tmp_path):
    start(tmp_path / "h")
    file = tmp_path / "h" / "house.toml"
    text = file.read_text("utf-8").replace('supply = "garage"', 'supply = "garag"')
    assert text.count('"garag"') == 2
    file.write_text(text, "utf-8")
    with pytest.raises(InputError, match='no supply "garag"; did you mean "garage"') as caught:
        load_house(file)
    assert len(str(caught.value).splitlines()) == 1


def test_a_key_by_another_name_isnt_missing_too(tmp_path):
    """What people write first: eave_height was told as unknown, and eave as missing."""
    text = HOUSE.replace("eave = ", "eave_height = ", 1).replace("kind = ", "type = ", 1)
    (tmp_path / "house.toml").write_text(text.replace("hole_spacing", "spacing", 1))
    with pytest.raises(InputError) as caught:
        load_house(tmp_path / "house.toml")
    lines = str(caught.value).splitlines()
    assert [re.search(r'did you mean "(\w+)"', line)[1] for line in lines] == [
        "eave",
        "hole_spacing",
        "kind",
    ]


def test_edges_of_the_same_mass_are_listed_first_and_a_unit_by_its_long_name(load):
    wing = '[[mass]]\nname = "zinc wing"\nwidth = 9\ndepth = 9\neave = 8\nslope = "4/12"\nroof = "hip"\n'
    wrong = ('path = ["main/rake-left"', 'path = ["zinc wing/frnt"')
    with pytest.raises(InputError, match='no edge "zinc wing/frnt".*Edges: zinc wing/eave-back, '):
        load(wrong, add=wing)
    with pytest.raises(InputError, match='no unit "inchs"; did you mean "inches"'):
        load(('"8 ft"', '"96 inchs"'))


def test_watts_for_amps_is_one_mistake_that_says_how_to_get_them(load):
    with pytest.raises(InputError) as caught:
        load(("amps = 5", 'amps = "60 W"'))
    (line,) = str(caught.value).splitlines()
    assert 'supply "garage", amps: current (A) is "60 W": no unit "W"; the current is' in line
