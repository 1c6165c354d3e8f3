"""Mistakes in tables that a house file adds to the small house: each says where it is and what is expected."""

import pytest

from lumenmap.core.errors import InputError

PATH = '"main/rake-left", "main/rake-right"'


@pytest.mark.parametrize(
    ("add", "says"),
    [
        (
            '[[mass]]\nname = "main"\nwidth = 3\ndepth = 3\neave = 3\nslope = "1/12"',
            r'mass "main": another mass has this name',
        ),
        ('[[edge]]\nname = "x"', r'edge "x": expected points, legs or between'),
        (
            '[[edge]]\nname = "gable & porch"',
            r".*expected letters, digits, spaces and \. _ / ' - alone, a letter or digit first",
        ),
        ('[[edge]]\nname = ""', r'.*is ""; expected at least 1 character'),
        (f'[[edge]]\nname = "{"x" * 81}"', r".*expected at most 80 characters"),
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
    ("add", "keys"),
    [
        (
            '[[feed]]\nsupply = "garag"\nto = "frnt"\nat = "stat"',
            ['feed "garag" to "frnt", supply', 'feed "garag" to "frnt", to'],
        ),
        (
            '[[trunk]]\nsupply = "garag"\nalong = "frnt"\nstop = "nd"\n'
            '[[trunk]]\nsupply = "grage"\nalong = "front"\n[[tap]]\ntrunk = "trunk 1"',
            ['trunk "trunk 1", supply', 'trunk "trunk 1", along', 'trunk "trunk 2", supply'],
        ),
        (
            '[[bus]]\nalong = "frnt"\nstart = "stat"\nties = ["midle"]',
            ['bus "bus 1", along', 'bus "bus 1", start', 'bus "bus 1", ties'],
        ),
        (
            '[[trunk]]\nsupply = "garage"\nalong = "front"\n[[tap]]\ntrunk = "trunk 1"\n'
            '[[tap]]\ntrunk = "trnk 1"\nat = "nd"',
            ['tap from "trnk 1", trunk', 'tap from "trnk 1", at'],
        ),
    ],
    ids=["feed", "trunk", "bus", "tap"],
)
def test_all_mistakes_of_a_table_are_told_at_once(load, add, keys):
    with pytest.raises(InputError) as caught:
        load(add=f"\n{add}\n")
    said = str(caught.value)
    assert [key for key in keys if key not in said] == [], said


@pytest.mark.parametrize(
    ("item", "says"),
    [
        ('{ edge = "main/ridge reversed" }', 'write edge = "main/ridge", reversed = true'),
        ('"main/ridge reverse"', 'no edge "main/ridge reverse"; write "main/ridge reversed"'),
        ('"main/ridge (backwards)"', 'write "main/ridge reversed"'),
        (
            '{ edge = "main/rigde reversed" }',
            r'no edge "main/rigde"; did you mean edge = "main/ridge", reversed = true\? Edges: main/',
        ),
        ('"main/rigde-reversed"', r'did you mean "main/ridge reversed"\?'),
        ('"belfry reversd"', 'no edge "belfry"; edges: main/'),
        ('"reversed"', 'no edge "reversed"; edges: main/'),
    ],
)
def test_an_edge_that_is_to_be_reversed_is_told_how(load, item, says):
    for path in ((PATH, f"{PATH}, {item}"), (PATH, PATH)):
        add = f'\n[[route]]\nname = "way"\nedges = [{item}]\n' if path[0] == path[1] else ""
        with pytest.raises(InputError, match=says):
            load(path, add=add)
