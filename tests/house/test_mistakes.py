"""A mistake in a house file gets one sentence that names the place and what would be right."""

import re

import pytest

from lumenmap.core.errors import InputError
from lumenmap.house.reading.load import load_house
from lumenmap.parts.kinds import pixel_kind
from lumenmap.pixels.build import map_pixels
from lumenmap.starter.start import start
from tests.small_house import HOUSE

PATH = '"main/rake-left", "main/rake-right"'


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            'slope = "8/12"',
            "slope = 8",
            r'mass "main", slope: slope is 8; write "8/12" for a rise of 8 in 12',
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
    ("add", "says"),
    [
        (
            '[[mass]]\nname = "main"\nwidth = 3\ndepth = 3\neave = 3\nslope = "1/12"',
            r'mass "main": another mass has this name',
        ),
        ('[[edge]]\nname = "x"', r'edge "x": expected points, legs or between'),
        (
            '[[edge]]\nname = "main/rake-lef"',
            r'edge "main/rake-lef": .*did you mean "main/rake-left"',
        ),
        (
            '[[edge]]\nname = "main/rake-left"\npoints = [[0,0,0],[1,0,0]]',
            r'edge "main/rake-left": another edge has this name',
        ),
        (
            '[[edge]]\nname = "x"\npoints = [[0,0,0],[0,0,0]]',
            r'edge "x", points: two points in a row are the same',
        ),
        (
            '[[edge]]\nname = "x"\npoints = [[0,0,0],[1,0,0]]\nbetween = ["a","b"]',
            r'edge "x": has points and between',
        ),
        (
            '[[edge]]\nname = "x"\nbetween = ["main/eave-left","main/eave-lef"]',
            r'edge "x", between item 2: no edge "main/eave-lef"; did you mean',
        ),
        (
            '[[edge]]\nname = "x"\nbetween = ["main/eave-left","main/ridge"]',
            r'edge "x", between item 2: isn.t the edge of a roof plane',
        ),
        (
            '[[edge]]\nname = "x"\nbetween = ["main/eave-left","main/rake-left"]',
            r'edge "x", between: their roof planes are parallel',
        ),
        (
            '[[edge]]\nname = "x"\nlegs = [{ length = 3, heading = 3 }]',
            r'edge "x", start: is missing; legs start at',
        ),
        (
            '[[edge]]\nname = "x"\nstart = "main/peak"\nlegs = [{ length = 3, heading = 3 }]',
            r'edge "x", start: no corner "main/peak"; did you mean "main/peak-',
        ),
        (
            '[[edge]]\nname = "x"\nstart = [0,0,0]\nlegs = [{ length = 3 }]',
            r'edge "x", leg 1: the first leg needs a compass heading',
        ),
        (
            '[[edge]]\nname = "x"\nstart = [0,0,0]\nlegs = [{ length = 3, heading = 3, left = 3 }]',
            r'edge "x", leg 1: has heading and left',
        ),
        (
            '[[edge]]\nname = "x"\nstart = [0,0,0]\nclosed = true\nlegs = [{ length = 9, heading = 3 }, { length = 2, left = 90 }]',
            r'edge "x", legs: the legs end .* from their start after 11 ft, so one of them is wrong',
        ),
        (
            '[[feed]]\nsupply = "garag"\nto = "front"',
            r'feed "garag" to "front", supply: no supply "garag"; did you mean "garage"',
        ),
        (
            '[[feed]]\nsupply = "garage"\nto = "frnt"',
            r'feed "garage" to "frnt", to: no line "frnt"; did you mean "front"',
        ),
        (
            '[[feed]]\nsupply = "garage"\nto = "front"\nat = "stat"',
            r'feed "garage" to "front", at: is "stat"; did you mean "start"\? expected start, middle, end, "connector 2"',
        ),
        (
            '[[feed]]\nsupply = "garage"\nto = "front"\nwire = "14 mm"',
            r'feed "garage" to "front", wire: "14 mm" isn.t a wire size',
        ),
        ('[[bus]]\nalong = "frnt"', r'bus "bus 1", along: no line "frnt"'),
        (
            '[[bus]]\nalong = "front"\nties = ["start"]',
            r'bus "bus 1", ties: is one place; a bus is tied at two or more',
        ),
        (
            '[[bus]]\nalong = "front"\nties = ["start", "end"]\ntie_every = 2',
            r'bus "bus 1": has tie_every and ties; expected one of them',
        ),
        (
            '[[bus]]\nalong = "front"\nties = ["start", "conector 2"]',
            r'bus "bus 1", ties: is "conector 2"; did you mean "connector 2"',
        ),
        (
            '[[trunk]]\nsupply = "garag"\nalong = "front"',
            r'trunk "trunk 1", supply: no supply "garag"; did you mean "garage"',
        ),
        (
            '[[trunk]]\nsupply = "garage"\nalong = "frnt"',
            r'trunk "trunk 1", along: no line "frnt"; did you mean "front"',
        ),
        (
            '[[trunk]]\nsupply = "garage"\nalong = "front"\nname = "heavy"',
            r'trunk "heavy": has no \[\[tap\]\], so it feeds nothing',
        ),
        (
            '[[trunk]]\nsupply = "garage"\nalong = "front"\nname = "heavy"\n'
            '[[tap]]\ntrunk = "heavy"\n[[tap]]\ntrunk = "haevy"',
            r'tap from "haevy", trunk: no trunk "haevy"; did you mean "heavy"',
        ),
        (
            '[[trunk]]\nsupply = "garage"\nalong = "front"\nname = "heavy"\n'
            '[[tap]]\ntrunk = "heavy"\n[[tap]]\ntrunk = "heavy"',
            r'tap "heavy tap at the nearest connector": another tap has this name',
        ),
        (
            '[string]\nspacing = "2 in"',
            r"string.spacing: is 2 in, but the holes are 3 in apart: the string doesn't reach",
        ),
        (
            '[string]\nwire = "18 AWG"\n[wiring]\nstring = "16 AWG"',
            r'wiring.string: is "16 AWG", but \[string\] wire is "18 AWG"; leave one of them out',
        ),
        ("[string]\npixls = 50", r'string.pixls: no such key; did you mean "pixels"'),
        ('[string]\nwire = "18 AWG strandd"', r'string.wire: no make of wire "strandd"; did you'),
        ('[wiring]\nambient = "90 C"', r"wiring.ambient: is 90 C round wire whose insulation is"),
        ("[wiring]\ninsulation = 80", r"wiring.insulation: .*60, 75"),
        (
            '[[supply]]\nname = "b"\nvolts = 12',
            r'supply "b": needs amps, .* or label_amps, .* 80 % counts',
        ),
        (
            '[[supply]]\nname = "b"\nvolts = 12\namps = 9\nlabel_amps = 8',
            r'supply "b", amps: is 9 A, more than the 8 A of its label',
        ),
        ('[group]\nmain = ["main/*"]', r"group.main: is already the name of an edge or mass"),
        ("[group.x]\nof = []", r"group.x: is empty"),
    ],
)
def test_a_mistake_in_what_is_added(load, add, says):
    with pytest.raises(InputError, match=r"house\.toml: " + says) as caught:
        load(add="\n" + add + "\n")
    assert all(line.startswith("house.toml: ") for line in str(caught.value).splitlines())


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            PATH,
            '"main/rake-left", "main/eave-right"',
            r'line "front", path item 2: there is a gap of 15 ft 7 1/2 in from the end of "main/rake-left" to the start of "main/eave-right"; put \{ jumper = "15 ft 7 1/2 in" \}',
        ),
        (
            PATH,
            '"main/rake-left", { jumper = "4 ft" }, "main/eave-right"',
            r"line .front., path item 2 \(jumper\): the jumper of 4 ft is too short: it is 15 ft 7 1/2 in",
        ),
        (
            PATH,
            '"main/rake-left", "main/rake-right reversed"',
            r'or reverse an edge: "main/rake-right"',
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
            r'group.a: no edge "main/rak"; did you mean "main/rake-',
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


@pytest.mark.parametrize(
    ("figures", "named"),
    [
        ("", None),
        ('order = "RGB"', None),  # what the row says already
        ('order = "GRB"', "order"),
        ("volts = 12\nchannel_ma = [12, 12, 11]", "channel_ma"),
        ("dominant_nm = [622, 525, 466]\nintensity = [400, 900, 200]", "dominant_nm, intensity"),
    ],
)
def test_the_source_names_what_the_owner_gave_and_no_more(load, figures, named):
    house = load(('"ws2811-12v"', f'"ws2811-12v"\n{figures}'))
    row = pixel_kind("ws2811-12v").source
    assert house.kind.source == (f"{row}; given by the house file: {named}" if named else row)


def test_dies_are_as_given(load):
    house = load(
        ('"ws2811-12v"', '"ws2811-12v"\ndominant_nm = [622, 525.5, 466]\nintensity = [2, 5, 1]')
    )
    assert house.kind.dominant_nm == (622, 525.5, 466) and house.kind.intensity == (2, 5, 1)


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
