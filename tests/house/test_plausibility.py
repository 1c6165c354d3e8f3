"""What looks like a mistake in a house file but may be intended is pointed out, and no error."""

import re

import pytest


def test_inches_where_feet_were_meant_are_pointed_out(load):
    """An edge 80 ft long that belongs to a 24 ft mass: it may be intended, so it is a note, not an error."""
    house = load(add='\n[[edge]]\nname = "main/trim"\npoints = [[0, -1, 8], [80, -1, 8]]\n')
    (note,) = [n for n in house.notes if "main/trim" in n]
    assert (
        'edge "main/trim" (80 ft): much longer than mass "main", 24 ft wide and 30 ft deep' in note
    )
    assert "is that the right unit?" in note
    assert not load(add='\n[[edge]]\nname = "trim"\npoints = [[0, -1, 8], [30, -1, 8]]\n').notes


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('"3 in"', "4", r'rail: 4 ft between holes; did you mean "4 in"\?'),
        ('"3 in"', "1.25", r'rail: 1 ft 3 in between holes; did you mean "1.25 in"\?'),
        ('"3 in"', '"1 yd"', r'rail: 3 ft between holes; did you mean "3 in"\?'),
        (
            '"3 in"\n',
            '"3 in"\n[[edge]]\nname = "main/rake-left"\nhole_spacing = 2\n',
            r'edge "main/rake-left": 2 ft between holes; did you mean "2 in"\?',
        ),
    ],
)
def test_holes_far_apart_are_pointed_out(load, old, new, says):
    (note,) = load((old, new)).notes
    assert re.fullmatch(says, note)


@pytest.mark.parametrize(
    ("spacing", "says"),
    [
        ("8", 'rail: 8 m between holes; did you mean "8 cm"?'),
        ("0.5", "rail: 0.5 m between holes; is that the right unit?"),
        ('"30 cm"', None),
        ('"1 ft"', None),
    ],
)
def test_holes_far_apart_in_metres(load, spacing, says):
    edits = (
        ('unit = "ft"', 'unit = "m"'),
        ("eave = 9", "eave = 3"),
        ('"8 ft"', "9"),
        ('"3 in"', spacing),
    )
    assert load(*edits).notes == ((says,) if says else ())


def test_what_looks_wrong_in_several_places_is_said_once(load):
    """A house all in the wrong unit was told so for each of its masses and edges."""
    wing = '[[mass]]\nname = "wing"\nwidth = 20\ndepth = 12\neave = 0.8\nposition = [40, 0]\nroof = "flat"\n'
    notes = load(("eave = 9", "eave = 0.9"), add=wing).notes
    (low,) = [n for n in notes if "an eave that high" in n]
    assert low.startswith('masses "main" (10 13/16 in) and "wing" (9 5/8 in): an eave')


def test_a_low_eave_and_an_edge_underground_are_pointed_out(load):
    notes = " ".join(load(("eave = 9", "eave = 0.9")).notes)
    assert (
        'mass "main" (10 13/16 in): an eave that high above the ground; is that the right unit?'
        in notes
    )
    under = load(add='\n[[edge]]\nname = "x"\npoints = [[0,-9,-1],[9,-9,1]]\n').notes
    assert any("partly below the ground" in n for n in under)
