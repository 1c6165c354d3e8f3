"""The names on hanging drawings: each at its own rail, none on another or under a line to one."""

import math
from itertools import combinations, pairwise, product

import numpy as np
import pytest

from lumenmap.drawing.canvas import GREY, INK, Area, Stroke, TextLine
from lumenmap.sheets.plans.hanging import LARGE, hanging_drawings
from lumenmap.sheets.rails.rails import rails
from lumenmap.site import Site

PAPER = (279.4, 215.9)

#: Invented: a garage's eave 6 in above a porch's, seen from the right, and its ridge.
EAVES = """
house = { name = "Eaves", unit = "ft" }
rail = { length = "10 ft", hole_spacing = "3 in" }
pixel = { kind = "ws2811-12v" }
edge = [
  { name = "porch", points = [[0, 0, 8], [13, 0, 8]] },
  { name = "garage", points = [[8, 0, 8.5], [37, 0, 8.5]] },
  { name = "ridge", points = [[22, 0, 14], [24, 0, 14]] },
]
line = [
  { name = "all", path = ["porch", { jumper = "6 ft" }, "garage", { jumper = "40 ft" }, "ridge"] },
]
supply = [{ name = "one", volts = 12, amps = 20 }]
feed = [
  { supply = "one", to = "all", at = "start", length = 3, fuse = 2 },
  { supply = "one", to = "all", at = "13 ft", length = 3, fuse = 2 },
  { supply = "one", to = "all", at = "end", length = 3, fuse = 2 },
]
mass = [{ name = "main", roof = "flat", width = 48, depth = 20, position = [-4, 0], eave = 8 }]
"""

#: Invented: three storeys under a steep gable, with lights round four windows and a door.
TALL = """
house = { name = "Tall", unit = "ft" }
rail = { length = "6 ft", hole_spacing = "2 in" }
pixel = { kind = "ws2811-12v" }
supply = [{ name = "one", volts = 12, amps = 20 }]
line = [
  { name = "gable", path = ["main/rake-left", "main/rake-right"] },
  { name = "windows", path = ["main/window 1", { jumper = "8 ft" }, "main/window 2",
    { jumper = "10 ft" }, "main/window 4", { jumper = "8 ft" }, "main/window 3"] },
  { name = "door", path = ["main/door 1"] },
]
feed = [
  { supply = "one", to = "gable", at = "start" }, { supply = "one", to = "gable", at = "8 ft" },
  { supply = "one", to = "gable", at = "middle" }, { supply = "one", to = "gable", at = "20 ft" },
  { supply = "one", to = "gable", at = "end" }, { supply = "one", to = "windows", at = "start" },
  { supply = "one", to = "windows", at = "middle" }, { supply = "one", to = "windows", at = "end" },
  { supply = "one", to = "door", at = "start" }, { supply = "one", to = "door", at = "end" },
]
[[mass]]
name = "main"
width = 18
depth = 36
eave = 28
slope = "14/12"
door = [{ at = 14, width = 3, height = 7 }]
window = [
  { at = 5, width = 3, height = 5, sill = 12 }, { at = 13, width = 3, height = 5, sill = 12 },
  { at = 5, width = 3, height = 5, sill = 21 }, { at = 13, width = 3, height = 5, sill = 21 },
]
"""


@pytest.fixture(scope="module", params=[EAVES, TALL], ids=["eaves", "tall"])
def front(request, tmp_path_factory):
    file = tmp_path_factory.mktemp("names") / "house.toml"
    file.write_text(request.param)
    site = Site.read(file)
    placed = rails(site.line_layouts)
    return placed, hanging_drawings(site, placed, PAPER)[0].drawing


def names(page):
    """Return the middle of each name of a rail or a wire, and half its width and height.

    Bold letters and figures of Helvetica are about 0.6 of their size wide, and 0.72 high [M].
    """
    found = {}
    for mark in page.marks:
        if isinstance(mark, TextLine) and mark.style.size == LARGE:
            x, y = mark.at
            half = 0.3 * LARGE * len(mark.text), 0.36 * LARGE
            found[mark.text] = (x, y - half[1]), half
    return found


def leads(page):
    """Return the lines of two points to names: thin grey ones, and those of flags."""
    return [
        m.points
        for m in page.marks
        if isinstance(m, Stroke)
        and len(m.points) == 2
        and (m.width, m.colour) in ((0.25, GREY), (0.4, INK))
    ]


def ways(page):
    """Return the two ends or more of each rail, in the order of the rails."""
    return [
        np.array(m.points) for m in page.marks if isinstance(m, Stroke) and m.colour == "#bcd9f2"
    ]


def from_way(at, way):
    """Return how far a point is from a line, by many points on it."""
    parts = np.linspace(0, 1, 400)[:, None]
    points = np.concatenate([a + parts * (b - a) for a, b in pairwise(way)])
    return float(np.hypot(*(points - at).T).min())


def test_a_rails_name_is_nearest_to_it_or_has_a_line_to_it(front):
    placed, page = front
    drawn, said = dict(zip((r.number for r in placed), ways(page), strict=True)), names(page)
    for rail in placed:
        at = said[f"{rail.kind}{rail.number}"][0]
        nearest = min(drawn, key=lambda number: from_way(at, drawn[number]))
        begins = [ends[0] for ends in leads(page) if math.dist(ends[1], at) < 2 * LARGE]
        led = any(from_way(begin, drawn[rail.number]) < 0.1 for begin in begins)
        assert nearest == rail.number or led, (rail.kind, rail.number)


def test_no_line_to_a_name_crosses_another_name(front):
    _, page = front
    for (a, b), (text, (middle, half)) in product(leads(page), names(page).items()):
        points = np.array(a) + np.linspace(0, 1, 200)[:, None] * (np.array(b) - a)
        inside = (np.abs(points - middle) < half).all(1)
        assert not inside.any() or inside[-1], text  # its own line ends in it


def test_flags_and_names_lie_on_nothing(front):
    """Neither on each other nor on the table: a flag lay on its headings."""
    _, page = front
    flags = [np.array(m.points) for m in page.marks if isinstance(m, Area)]
    boxes = [(f.min(0), f.max(0)) for f in flags]
    marks = [t for t in names(page) if not t.startswith("F")]
    assert len(boxes) + len(marks) == len(names(page))
    boxes += [
        tuple(np.array(names(page)[t][0]) + s * np.array(names(page)[t][1]) for s in (-1, 1))
        for t in marks
    ]
    for (low, high), (other, top) in combinations(boxes, 2):
        assert not ((low < top) & (other < high)).all(), (low, other)
    (table,) = {m.at[1] for m in page.marks if isinstance(m, TextLine) and m.text == "slope"}
    assert max(high[1] for _, high in boxes) < table - 3.8


def test_a_tall_house_is_on_an_upright_page(tmp_path):
    (tmp_path / "house.toml").write_text(TALL)
    site = Site.read(tmp_path / "house.toml")
    (page,) = hanging_drawings(site, rails(site.line_layouts), PAPER)
    assert (page.drawing.width, page.drawing.height) == PAPER[::-1]
    for mark in page.drawing.marks:
        if isinstance(mark, TextLine):
            # 0.5 of their size is the mean width of letters in a sentence [C].
            wide = 0.5 * mark.style.size * len(mark.text)
            left = mark.at[0] - {"start": 0, "middle": wide / 2, "end": wide}[mark.style.anchor]
            assert left > 0 and left + wide < page.drawing.width, mark.text
