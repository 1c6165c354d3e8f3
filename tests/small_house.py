"""Small house files as text, to be edited by each test, and a fixture that conftest files import."""

import pytest

from lumenmap.house.reading.load import load_house

#: A house without feeds; `HOUSE` has one.
BARE = """
[house]
name = "Test House"
unit = "ft"

[[mass]]
name = "main"
roof = "gable"
width = 24
depth = 30
eave = 9
slope = "8/12"
overhang = 1

[rail]
length = "8 ft"
hole_spacing = "3 in"

[pixel]
kind = "ws2811-12v"

[[line]]
name = "front"
path = ["main/rake-left", "main/rake-right"]

[[supply]]
name = "garage"
volts = 12
amps = 5
"""
HOUSE = f"""{BARE}
[[feed]]
supply = "garage"
to = "front"
fuse = 5
"""

#: Nothing but a straight edge of 10 m, for tests to which the house does not matter.
WALL = """
house = { name = "Wall", unit = "m" }
rail = { hole_spacing = "20 mm" }
pixel = { kind = "ws2811-12v" }
edge = [{ name = "wall", points = [[0, 0, 3], [10, 0, 3]] }]
line = [{ name = "all", path = ["wall"] }]
supply = [{ name = "one", volts = 12, amps = 10 }]
wiring.accept = [{ finding = "no-feed", of = "all", reason = "Only the supply matters here" }]
"""


def edited(text, edits):
    """A text with the first of each old part replaced by a new one; all of them must be there."""
    for old, new in edits:
        assert old in text, old
        text = text.replace(old, new, 1)
    return text


@pytest.fixture
def load(tmp_path):
    """Load the small house with text replaced and added."""

    def made(*edits, add=""):
        file = tmp_path / "house.toml"
        file.write_text(edited(BARE, edits) + add)
        return load_house(file)

    return made
