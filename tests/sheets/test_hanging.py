"""Hanging drawings: every rail on some side, clips between holes, heights and slopes by hand."""

import math
import re
from fractions import Fraction
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.core.units import INCH
from lumenmap.drawing.canvas import Dot, Drawing, Stroke, TextLine
from lumenmap.drawing.document import Table, Text
from lumenmap.drawing.labels import leader, width_of
from lumenmap.sheets.plans.elevations import one_by_one
from lumenmap.sheets.plans.hanging import LARGE, SMALL, hanging_drawings
from lumenmap.sheets.plans.hanging_table import COLUMNS, draw_table, edge_rows, slope
from lumenmap.sheets.rails.clips import clips, clips_apart
from lumenmap.sheets.rails.cutting import hanging
from lumenmap.sheets.rails.rails import Pattern, rails
from lumenmap.sheets.wires.leads import cuts, leads
from lumenmap.sheets.wiring_sheet import wiring_sheet
from lumenmap.site import Site
from tests.small_house import HOUSE

HOUSES = ("alder-cottage", "marlow-bend", "tannery-row", "fern-lane")
PAPER = (279.4, 215.9)


@pytest.fixture(scope="module", params=HOUSES)
def sides(request, examples):
    site = Site.read(examples / request.param / "house.toml")
    placed = rails(site.line_layouts)
    return site, placed, hanging_drawings(site, placed, PAPER)


#: Invented: the gable in front hides the left rake of the dormer from the left; lights under the
#: eave shine down, which is on no side.
HIDDEN = """
[house]
name = "Hidden"
unit = "ft"

[[mass]]
name = "main"
ridge = "across"
width = 34
depth = 26
eave = 10
slope = "12/12"
overhang = 1

[[mass]]
name = "cross"
leans_on = "main"
width = 14
depth = 3
position = [2, -3]
eave = 11
slope = "14/12"

[[mass]]
name = "dormer"
leans_on = "main"
roof = "shed"
width = 10
depth = 4
position = [20, 5]
eave = "17 ft 6 in"
slope = "3/12"

[[edge]]
name = "soffit"
kind = "eave"
points = [[17, -0.5, 9], [34, -0.5, 9]]
facing = "down"

[rail]
length = 8
hole_spacing = "3 in"

[pixel]
kind = "ws2811-12v"

[[line]]
name = "all"
path = ["cross/rake-left", { jumper = 30 }, "dormer/rake-left", { jumper = 40 }, "soffit"]
"""


def texts(side):
    return [m for m in side.drawing.marks if isinstance(m, TextLine)]


def test_every_rail_and_every_wire_is_named_on_some_side(sides):
    site, placed, pages = sides
    named = {t.text for page in pages for t in texts(page)}
    assert {f"{r.kind}{r.number}" for r in placed} <= named
    assert {x.mark for x in leads(site) if x.joins} | {c.mark for c in cuts(site)} <= named


def test_what_no_side_shows_is_on_the_one_that_it_faces(tmp_path):
    """The rails of a dormer behind a gable, and those that shine down, were on no drawing."""
    (tmp_path / "house.toml").write_text(HIDDEN)
    site = Site.read(tmp_path / "house.toml")
    placed = rails(site.line_layouts)
    pages = {
        page.name: [t.text for t in texts(page)] for page in hanging_drawings(site, placed, PAPER)
    }
    on = {"cross/rake-left": "front", "dormer/rake-left": "left side", "soffit": "front"}
    assert set(pages) == set(on.values())
    for rail in placed:
        name = f"{rail.kind}{rail.number}"
        assert [side for side, said in pages.items() if name in said] == [on[rail.edge]], rail.edge
    assert "dormer/rake-left (behind)" in pages["left side"]
    assert "behind: out of sight from here" in pages["left side"]
    assert "soffit" in pages["front"] and not any("behind" in said for said in pages["front"])


def test_labels_are_large_and_apart_and_on_the_page(sides):
    """Large enough for arm's length; no label of a rail or a wire lies on another."""
    _, _, pages = sides
    for page in pages:
        for t in texts(page):
            assert t.style.size >= 2.6, t.text
            assert 0 < t.at[0] < page.drawing.width and 0 < t.at[1] < page.drawing.height
        marks = [
            t for t in texts(page) if t.style.size == LARGE and re.match(r"[A-Z]+[\d.]+$", t.text)
        ]
        assert marks
        for a, b in combinations(marks, 2):
            wide = (width_of(a.text, LARGE) + width_of(b.text, LARGE)) / 2
            apart = abs(a.at[0] - b.at[0]) > 0.95 * wide or abs(a.at[1] - b.at[1]) > 0.7 * LARGE
            assert apart, (page.name, a.text, b.text)


def test_each_clip_is_a_dot(sides):
    site, placed, pages = sides
    for page in pages:
        names = {t.text for t in texts(page)}
        mine = [r for r in placed if f"{r.kind}{r.number}" in names]
        dots = [m for m in page.drawing.marks if isinstance(m, Dot) and m.radius == 0.9]
        drawn = sum(len(clips(r.pattern, site.house.unit)) for r in mine)
        assert len(dots) == drawn + 1  # and one in the key


@given(
    st.integers(1, 120),
    st.fractions("0.5", 12, max_denominator=16),
    st.fractions("0.05", "0.95", max_denominator=20),
    st.sampled_from(["ft", "m"]),
)
def test_clips_hold_both_ends_and_cover_no_hole(count, spacing, part, unit):
    """None further apart than the rule, wherever holes leave room; none nearer than it must."""
    step = spacing * INCH
    first = part * step
    p = Pattern(count * step, first, step, count)
    found, apart = clips(p, unit), clips_apart(unit)
    assert len(found) >= 2 and found == sorted(set(found))
    assert found[0] == first / 2 and found[-1] == (p.holes()[-1] + p.length) / 2
    assert all(b - a <= apart for a, b in pairwise(found))
    nearest = min(abs(c - h) for c in found for h in p.holes())
    assert nearest >= min(first, step - first, step) / 2
    fewest = -int(-(found[-1] - found[0]) // apart) + 1
    assert len(found) <= 2 * fewest  # holes far apart may take more than the rule alone


def test_clips_of_a_rail_of_eight_feet():
    """By hand: holes every 4 in from 2 in; clips from 1 in to 95 in, 94 in apart: four gaps."""
    found = clips(Pattern(96 * INCH, 2 * INCH, 4 * INCH, 24), "ft")
    assert [c / INCH for c in found] == [1, 24, 48, 72, 95]


def test_heights_and_slopes_are_those_of_the_house(examples):
    """Of a roof of 6/12, a hip rises 6 in 16.97 in, which is 4.24/12 (framing square tables [M]).

    The cottage's wing: eave at 10 ft, 9/12 over 9 ft of run to the ridge.
    """
    site = Site.read(examples / "alder-cottage" / "house.toml")
    row = dict(
        zip(COLUMNS, edge_rows(site, rails(site.line_layouts), ["wing/rake-left"])[0], strict=True)
    )
    assert row["slope"] == "9/12" and row["length"] == "11 ft 3 in"
    assert row["above ground"] == "10 ft to 16 ft 9 in"
    assert row["bare at start"] == row["bare at end"] == "1 1/2 in"
    bend = Site.read(examples / "marlow-bend" / "house.toml").house
    assert slope(bend.edges["wing/hip-front-right"], "ft") == "4.24/12"
    assert slope(bend.edges["wing/hip-front-right"], "m") == "19°"  # atan(4.24 / 12) = 19.47°
    assert slope(bend.edges["wing/eave-front"], "ft") == ""


def test_rails_in_a_row_are_named_by_the_outer_two(examples):
    """Eleven names in one column were too small to read."""
    site = Site.read(examples / "sallow-barn" / "house.toml")
    (row,) = edge_rows(site, rails(site.line_layouts), ["barn/eave-front"])
    assert row[-1] == "A1 to A10, C11"


def test_a_long_cell_has_two_lines_and_no_figure_is_broken():
    """On one line of an upright page, "1 11/16 in inside main" is in type of 2 mm."""
    page = Drawing(215.9, 279.4)
    row = ("front", "14 ft 10 1/4 in", "level", "9 ft", "1 11/16 in inside main", "", "A1, B2, C3")
    draw_table(page, [row], (12, 200), (191.9, 216))
    found = [m.text for m in page.marks if isinstance(m, TextLine)]
    assert "1 11/16 in" in found and "inside main" in found and "14 ft 10 1/4 in" in found
    assert all(m.style.size >= 2.6 for m in page.marks if isinstance(m, TextLine))


def test_a_post_is_steep_without_a_run(load):
    house = load(add='[[edge]]\nname = "post"\npoints = [[0, -2, 0], [0, -2, 8]]\n')
    assert slope(house.edges["post"], "ft") == "90°"


def test_the_caution_about_ladders_stands_on_every_page(sides):
    """In the house's unit; there is a page for each side with rails."""
    site, _, pages = sides
    own = "3 m from" if site.house.unit == "m" else "10 ft from"
    assert all(any(own in t.text for t in texts(page)) for page in pages)
    assert pages[0].name == "front" and len({p.name for p in pages}) == len(pages)


#: An L: the main eave meets a wing's roof, which has a rake at either side of its gable.
L = """
house = { name = "Ell", unit = "ft" }
rail = { length = "8 ft", hole_spacing = "3 in" }
pixel = { kind = "ws2811-12v" }
line = [{ name = "front", path = [{ edge = "main/eave-front", stop = "10 ft" }, { jumper = "30 ft" },
  "wing/rake-left", "wing/rake-right"] }]
[[mass]]
name = "main"
ridge = "across"
width = 40
depth = 26
eave = 9
slope = "5/12"
[[mass]]
name = "wing"
leans_on = "main"
width = 18
depth = 10
position = [20, -10]
eave = 9
slope = "5/12"
"""


def test_lengths_lie_inside_the_roof_that_they_measure_and_tell_a_part_of_an_edge(tmp_path):
    """Names over both rakes, lengths under both; of an edge that has rails in part, both lengths."""
    (tmp_path / "house.toml").write_text(L)
    site = Site.read(tmp_path / "house.toml")
    placed = rails(site.line_layouts)
    (front, *_) = hanging_drawings(site, placed, PAPER)
    found = texts(front)
    rakes = [t for t in found if re.fullmatch(r"9 ft 9 in, 5/12", t.text)]
    assert len(rakes) == 2 and rakes[0].at[0] < rakes[1].at[0]
    names = {r.edge: [] for r in placed}
    for r in placed:
        names[r.edge] += [t for t in found if t.text == f"{r.kind}{r.number}"]
    for mark, edge in zip(rakes, ("wing/rake-left", "wing/rake-right"), strict=True):
        assert all(name.at[1] < mark.at[1] for name in names[edge])
    assert any(t.text == "10 ft of 40 ft" for t in found)
    # The wing begins 20 ft along it, and the rails end at 10 ft.
    (row,) = edge_rows(site, placed, ["main/eave-front"])
    assert row[COLUMNS.index("bare at end")] == "10 ft from wing"


def close_feeds(rows):
    """Return an invented wall of rows of three lines, fed at all ends, some of them 5 in apart."""
    lines = [(f"{row}{n}", 6.4 * n, 8 + 1.2 * row) for row in range(rows) for n in (0, 1, 2)]
    edges = [
        f'{{ name = "e{m}", points = [[{x}, 0, {z}], [{x + 6}, 0, {z}]] }}' for m, x, z in lines
    ]
    feeds = [
        f'{{ supply = "one", to = "{m}", at = "{at}", length = 3, fuse = 2 }}'
        for m, *_ in lines
        for at in ("start", "end")
    ]
    paths = [f'{{ name = "{m}", path = ["e{m}"] }}' for m, *_ in lines]
    return f"""
house = {{ name = "Close", unit = "ft" }}
rail = {{ length = "8 ft", hole_spacing = "3 in" }}
pixel = {{ kind = "ws2811-12v" }}
supply = [{{ name = "one", volts = 12, amps = 20 }}]
edge = [{", ".join(edges)}]
line = [{", ".join(paths)}]
feed = [{", ".join(feeds)}]
"""


@pytest.mark.parametrize("rows", [2, 3])
def test_a_feeds_label_is_nearest_to_its_own_circle(tmp_path, rows):
    """On the hanging drawing and on the map; a line leads from the circle to its label."""
    (tmp_path / "house.toml").write_text(close_feeds(rows))
    site = Site.read(tmp_path / "house.toml")
    (hung, *_) = hanging_drawings(site, rails(site.line_layouts), PAPER)
    for page in (hung.drawing, one_by_one(site, PAPER)["front"]):
        labels = {
            m.text: (m.at[0], m.at[1] - 0.36 * m.style.size)
            for m in page.marks
            if isinstance(m, TextLine)
            and re.fullmatch(r"F\d+", m.text)
            and m.style.anchor == "middle"
        }
        assert len(labels) == 6 * rows
        leaders = [m.points for m in page.marks if isinstance(m, Stroke) and len(m.points) == 2]
        circles = {
            mark: min(leaders, key=lambda ends: math.dist(ends[1], at))[0]
            for mark, at in labels.items()
        }
        for mark, at in labels.items():
            assert min(circles, key=lambda other: math.dist(circles[other], at)) == mark


#: A wing flush with an L's inner corner: its left eave, 11 ft 6 in with the overhang, starts inside
#: the main roof, whose eave is 1 ft 6 in out, at y = -1.5; the wing's own begins at y = 6.
CORNER = """
house = { name = "Corner", unit = "ft" }
rail = { length = "8 ft", hole_spacing = "3 in" }
pixel = { kind = "ws2811-12v" }
line = [{ name = "front", path = [{ edge = "wing/eave-left", start = "meets main" }] }]
[[mass]]
name = "main"
ridge = "across"
width = 40
depth = 26
eave = 9
slope = "6/12"
overhang = 1.5
[[mass]]
name = "wing"
width = 14
depth = 16
position = [26, -10]
eave = 9
slope = "6/12"
overhang = 1.5
"""


def test_a_rail_is_measured_from_where_its_edge_comes_into_sight(tmp_path):
    """By hand: from the main eave at y = -1.5 ft to the wing's rake at y = -11.5 ft are 10 ft.

    The edge begins at y = 7.5 ft, 9 ft of it in the main roof. Holes are 3 in apart from 1 1/2 in.
    """
    (tmp_path / "house.toml").write_text(CORNER)
    site = Site.read(tmp_path / "house.toml")
    placed = rails(site.line_layouts)
    assert float(placed[0].start) == pytest.approx(9 * 0.3048)
    (row,) = edge_rows(site, placed, ["wing/eave-left"])
    told = dict(zip(COLUMNS, row, strict=True))
    assert told["length"] == "10 ft"
    assert (told["bare at start"], told["bare at end"]) == ("0 in from main", "0 in")
    (side,) = hanging_drawings(site, placed, PAPER)
    assert "10 ft" in {t.text for t in texts(side)}
    sheet = list(hanging(site.house, placed, site.line_layouts))
    rows, bare = (p.rows for p in sheet if isinstance(p, Table))
    assert [r[3:5] for r in rows] == [
        ("0 in from main", "8 ft from main"),
        ("8 ft from main", "10 ft from main"),
    ]
    assert bare == (("wing/eave-left", "10 ft", "40", "0 in from main", "0 in"),)
    assert any("measured from there" in p.text for p in sheet if isinstance(p, Text))


def test_a_rail_ends_where_its_edge_goes_into_another_roof(tmp_path):
    """By hand: main's eave is 43 ft long, and goes into the wing at 26 ft, 312 in.

    Of 103 holes 5 in apart, 2 1/2 in from either end of their rails, 1 in is left over: the first
    is at 3 in, the 62nd at 308 in, and its rail ends at 310 1/2 in. With a wing at 314 in the 63rd,
    at 313 in, is the last, and its rail would end 1 1/2 in inside.
    """
    path = '{ edge = "main/eave-front", stop = "meets wing" }'
    text = CORNER.replace('{ edge = "wing/eave-left", start = "meets main" }', path)
    text = text.replace('hole_spacing = "3 in"', 'hole_spacing = "5 in", first_hole = "2 1/2 in"')
    for more, left in (("0", "1 1/2 in from wing"), ("2", "0 in from wing")):
        moved = text.replace("position = [26, -10]", f'position = ["26 ft {more} in", -10]')
        (tmp_path / "house.toml").write_text(moved)
        site = Site.read(tmp_path / "house.toml")
        placed = rails(site.line_layouts)
        (row,) = edge_rows(site, placed, ["main/eave-front"])
        assert row[COLUMNS.index("bare at end")] == left
        assert {r.pattern.first for r in placed} == {Fraction(5, 2) * INCH}


def test_what_is_measured_on_the_wiring_sheet_begins_in_sight_too(tmp_path):
    (tmp_path / "house.toml").write_text(CORNER)
    site = Site.read(tmp_path / "house.toml")
    sheet = wiring_sheet(site, rails(site.line_layouts), Drawing(100, 10))
    first = next(p for p in sheet if isinstance(p, Table)).rows[0]
    assert any(
        "wing/eave-left: data enters where the edge comes out of main, rail A1" in cell
        for cell in first
    )


#: A porch before the main eave: 15 ft of gutter a foot below 46 ft of it.
PORCH = """
house = { name = "Ranch", unit = "ft" }
rail = { length = "8 ft", hole_spacing = "3 in" }
pixel = { kind = "ws2811-12v" }
line = [{ name = "front", path = ["main/eave-front"] }, { name = "porch", path = ["porch/eave-front"] }]
[[mass]]
name = "main"
ridge = "across"
width = 46
depth = 26
eave = 9
slope = "5/12"
[[mass]]
name = "porch"
roof = "shed"
leans_on = "main"
width = 15
depth = 7
position = [15, -7]
eave = 8
slope = "1/12"
walls = false
"""


def test_a_length_is_nearest_to_its_own_edge(tmp_path):
    (tmp_path / "house.toml").write_text(PORCH)
    site = Site.read(tmp_path / "house.toml")
    placed = rails(site.line_layouts)
    (front, *_) = hanging_drawings(site, placed, PAPER)
    found = {t.text: t for t in reversed(texts(front))}  # the first: the table follows
    names = {f"{r.kind}{r.number}": r.edge for r in placed}
    for length, edge in (("46 ft", "main/eave-front"), ("15 ft", "porch/eave-front")):
        x, y = found[length].at
        nearest = min(names, key=lambda n: (found[n].at[0] - x) ** 2 + (found[n].at[1] - y) ** 2)
        assert names[nearest] == edge


@pytest.mark.parametrize("width", [10, 14, 16])
def test_lengths_of_two_rakes_arent_read_as_one_line(tmp_path, width):
    """On one line they are a letter or more apart, 4 mm."""
    gable = HOUSE.replace("width = 24", f"width = {width}").replace(
        "overhang = 1", "overhang = 0.5"
    )
    (tmp_path / "house.toml").write_text(gable)
    site = Site.read(tmp_path / "house.toml")
    (front, *_) = hanging_drawings(site, rails(site.line_layouts), PAPER)
    lengths = [t for t in texts(front) if t.text.endswith(", 8/12")]
    assert lengths
    for a, b in combinations(lengths, 2):
        apart = abs(a.at[0] - b.at[0]) - width_of(a.text, SMALL)
        assert apart > 4 or abs(a.at[1] - b.at[1]) > SMALL, apart


def test_heights_are_no_finer_than_the_ground_is_level(tmp_path):
    """By hand: half of 17 ft 4 in rises 16 in 12 to 11 ft 6 11/16 in over 9 ft 2 in."""
    steep = HOUSE.replace("width = 24", "width = 16").replace('"8/12"', '"16/12"')
    steep = steep.replace("eave = 9", 'eave = "9 ft 2 in"').replace(
        "overhang = 1", "overhang = 0.67"
    )
    (tmp_path / "house.toml").write_text(steep)
    site = Site.read(tmp_path / "house.toml")
    (front, *_) = hanging_drawings(site, rails(site.line_layouts), PAPER)
    told = {t.text for t in texts(front)}
    assert {"20 ft 9 in", "9 ft 2 in", "9 ft 2 in to 20 ft 9 in"} <= told


def test_a_leader_ends_at_the_rim_of_its_label():
    """By hand: 10 letters of 2 mm are 11.2 mm wide; from straight below, it ends 1.1 mm below."""
    assert leader((0, 9), (0, 0), "x" * 10, 2.0) == pytest.approx((0, 1.1))
    assert leader((20, 0), (0, 0), "x" * 10, 2.0) == pytest.approx((6, 0))
    assert leader((1, 0), (0, 0), "x" * 10, 2.0) == (1, 0)  # inside it: no line
