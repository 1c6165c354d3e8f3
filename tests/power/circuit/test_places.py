"""Places on a line: x along it, s along the string's own wire, and what isn't on it."""

import re

import numpy as np
import pytest

from lumenmap.core.errors import InputError
from lumenmap.house.positions import position
from lumenmap.power.circuit.places import show_pixels
from lumenmap.sheets.wires.leads import leads
from lumenmap.site import Site
from tests.small_house import edited

#: 24 pixels 2 in apart on 4 ft, three hidden ones after them; strings of 10, wire 3 in a pixel.
HOUSE = """
house = { name = "Places", unit = "in" }
rail = { length = "8 ft", hole_spacing = 2 }
pixel = { kind = "ws2812b" }
edge = [{ name = "wall", points = [[0, 0, 100], [48, 0, 100]] }]
line = [{ name = "wall", path = ["wall", { spares = 3 }] }]
supply = [{ name = "box", volts = 5, amps = 10 }]
string = { pixels = 10, spacing = 3, tail = 5 }
"""
INCH = 0.0254


@pytest.fixture
def read(tmp_path):
    def made(*edits):
        file = tmp_path / "house.toml"
        file.write_text(edited(HOUSE, edits))
        return Site.read(file)

    return made


@pytest.mark.parametrize(
    ("text", "along", "wire", "connector"),
    [
        # By hand, in inches: the first pixel is 1 in from the start and a tail of 5 in from it;
        # then 3 in a pixel, two tails of 5 in where two strings meet.
        ("start", 0, 0, 1),
        ("pixel 1", 1, 5, None),
        ("pixel 10", 19, 5 + 9 * 3, None),
        ("connector 2", 20, 5 + 27 + 5, 2),
        ("pixel 11", 21, 5 + 27 + 10, None),
        ("connector 3", 40, 42 + 27 + 5, 3),
        ("pixel 24", 47, 42 + 27 + 10 + 3 * 3, None),
        ("pixel 25", 48, 88 + 3, None),  # the hidden ones lie at the end of the path
        ("pixel 27", 48, 88 + 9, None),
        ("connector 4", 48, 88 + 9 + 5, 4),
        ("end", 48, 88 + 9 + 5, 4),
        ("middle", 24, 42 + 1.5 * 3, None),
        ("24", 24, 42 + 1.5 * 3, None),
        ("20 in", 20, 37, 2),  # just where a connector is
        ("2 ft", 24, 46.5, None),
        ("48", 48, 91, None),  # the first of several hidden pixels
    ],
)
def test_a_place_has_two_coordinates(read, text, along, wire, connector):
    place = read().places["wall"].place(text, "")
    assert place.along / INCH == pytest.approx(along, abs=1e-6)
    assert place.wire / INCH == pytest.approx(wire, abs=1e-6)
    assert place.connector == connector


def test_a_jumper_is_as_long_as_it_is(read):
    """Wire from pixel to pixel is never shorter than the way: 12 in of jumper here."""
    two = 'edge = [{ name = "wall", points = [[0, 0, 100], [48, 0, 100]] }]'
    split = (
        'edge = [{ name = "wall", points = [[0, 0, 100], [24, 0, 100]] }, '
        '{ name = "more", points = [[34, 0, 100], [48, 0, 100]] }]'
    )
    path = '"wall", { jumper = 12 }, "more", { spares = 3 }'
    places = read((two, split), ('"wall", { spares = 3 }', path)).places["wall"]
    gap = places.wire[12] - places.wire[11]
    assert gap / INCH == pytest.approx(1 + 12 + 1)
    assert np.diff(places.wire[:10]) / INCH == pytest.approx(3)


def test_without_a_string_the_wire_goes_as_the_holes(read):
    places = read(("string = { pixels = 10, spacing = 3, tail = 5 }", "")).places["wall"]
    assert places.wire[:24] == pytest.approx(places.along[:24])
    # Hidden pixels have wire between them too, as long as from hole to hole.
    assert np.diff(places.wire[24:]) / INCH == pytest.approx(2)
    assert [c.connector for c in places.connectors] == [1, 2]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("connector 5", 'is "connector 5"; line "wall" has connectors 1 to 4, its start and end'),
        ("connector 0", "has connectors 1 to 4"),
        ("pixel 28", 'is "pixel 28"; expected 1 to 27 on line "wall"'),
        ("pixel 0", "expected 1 to 27"),
        ("49", 'is "49", but the line is 48 in long'),
        ("-1", "but the line is 48 in long"),
    ],
)
def test_what_is_not_on_the_line_is_refused(read, text, says):
    says = says.replace("48 in", "4 ft")
    with pytest.raises(InputError, match="feed, at: .*" + re.escape(says)):
        read().places["wall"].place(text, "feed, at")


def test_whoever_asks_for_a_place_says_in_which_file_it_is_wrong(read):
    """The wiring named the file; what judges it came first, and didn't."""
    feed = 'feed = [{ supply = "box", to = "wall", at = "pixel 60", fuse = 5 }]\nsupply ='
    site = read(("supply =", feed))
    says = r'house\.toml: feed "box to wall pixel 60", at: is "pixel 60"; expected 1 to 27 on line'
    for asked in (lambda: site.verdict, lambda: site.wiring, lambda: leads(site)):
        with pytest.raises(InputError, match=f"^{says}"):
            asked()


def test_connectors_need_the_strings_length(read):
    places = read(("pixels = 10, ", "")).places["wall"]
    with pytest.raises(InputError, match=r"how many pixels a string has isn't known; write \[str"):
        places.place("connector 2", "feed, at")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("stat", 'is "stat"; did you mean "start"?'),
        ("conector 2", 'did you mean "connector 2"?'),
        ("connector", 'did you mean "connector 2"?'),
        ("pixle 80", 'did you mean "pixel 80"?'),
        ("after pixel 80", 'did you mean "pixel 80"?'),
        (
            "nowhere",
            'is "nowhere"; expected start, middle, end, "connector 2", "pixel 80" or a len',
        ),
        ("pixel -3", 'did you mean "pixel 3"?'),
    ],
)
def test_what_is_no_place_is_refused(text, says):
    with pytest.raises(InputError, match=re.escape(says)):
        position(text, "ft", "feed, at")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("pixel 80", 'did you mean "after pixel 80"?'),
        ("behind 80", 'is "behind 80"; expected "after pixel 80", "connector 2", or a length'),
        ("aftr pixel 80", 'did you mean "after pixel 80"?'),
    ],
)
def test_what_is_no_cut_is_refused(text, says):
    with pytest.raises(InputError, match=re.escape(says)):
        position(text, "ft", "line, cuts", cut=True)


def test_a_place_is_said_by_its_pixels(read):
    places = read().places["wall"]

    def said(text):
        return show_pixels(places, places.place(text, "").wire)

    assert said("connector 2") == "between pixels 10 and 11, 1 ft 8 in"
    assert said("pixel 3") == "at pixel 3, 5 in"
    assert said("start") == "before pixel 1"
    assert said("end") == "after pixel 27, the last"
