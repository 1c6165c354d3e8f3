"""The wiring diagram: every part with its mark, figures that are read, nothing off the page."""

import re
from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.drawing.canvas import Area, Dot, Drawing, Stroke, TextLine
from lumenmap.drawing.document import Heading
from lumenmap.parts.cautions import ladder
from lumenmap.parts.fuses import BLADES
from lumenmap.sheets.plans.elevations import COLOURS, elevations
from lumenmap.sheets.wires import symbols
from lumenmap.sheets.wires.bar import landmarks, lay, spread
from lumenmap.sheets.wires.blocks import blocks
from lumenmap.sheets.wires.diagram import diagram
from lumenmap.sheets.wires.leads import leads
from lumenmap.sheets.wires.numbers import SMALLEST, in_strings
from lumenmap.sheets.wires.tags import labels
from lumenmap.sheets.wiring_sheet import wiring_sheet
from lumenmap.sheets.write import write_sheets
from lumenmap.site import Site
from lumenmap.starter.start import start
from tests.sheets.wired import ROOM, WIRED, rows, words
from tests.small_house import WALL

PARTS = """
workshop
12 V
20 A for hours
garage
4 A pink
5 A tan
10 A red
violet
14 AWG stranded, 5 ft
12 AWG stranded, 27 ft
12 ft to the line, then 15 ft alongside; 2 taps, each 18 AWG stranded, 1 ft
output 1
output 2
D1: data lead 6 ft, 33 ohm
D2: data lead 30 ft, 33 ohm,
repeating pixel
1-50
101-150
80 pixels, 2 strings of 50
low 1-80
long 2-161
161 pixels, 4 strings of 50
"""


def test_the_diagram_names_every_part(site):
    page = diagram(site(), ROOM)
    text = words(page)
    assert page.width == pytest.approx(ROOM[0]) and page.height <= ROOM[1]
    for mark in ("F1", "F2", "T1", "T1.1", "T1.2", "B1", "B1.1", "B1.2", "B1.3"):
        assert text.count(mark) == 1
    for part in PARTS.strip().splitlines():
        assert part in text, part
    assert ladder("ft").startswith(" ".join(text[-2:])[:60])


def test_a_supply_is_bought_by_its_label_and_not_by_what_it_gives(tmp_path):
    (tmp_path / "house.toml").write_text(WIRED.replace("amps = 20", "label_amps = 25"))
    write_sheets(tmp_path / "house.toml", tmp_path / "out")
    bought = [row["item"] for row in rows(tmp_path / "out", "what-to-buy")]
    assert "supply workshop, 12 V, 25 A on its label" in bought
    assert "supply garage, 12 V, 8 A for hours" in bought
    text = words(diagram(Site.read(tmp_path / "house.toml"), ROOM))
    assert {"12 V, 25 A", "20 A for hours"} <= set(text)


def test_every_label_has_its_mark_on_the_diagram(site, sheets):
    own = site()
    text = " ".join(words(diagram(own, ROOM)))
    assert all(re.search(rf"\b{re.escape(mark)}(?![.\d])", text) for mark, _ in labels(own))
    assert [row["mark"] for row in rows(sheets, "data-leads")] == ["D1", "D2"]


def test_narrow_strings_have_their_first_pixels_all_in_one_size(examples):
    """Six strings of one line: all whole ones are numbered, none with fewer words than another."""
    page = diagram(Site.read(examples / "juniper-flat" / "house.toml"), ROOM)
    first = [m for m in page.marks if isinstance(m, TextLine) and m.text.endswith("…")]
    assert [m.text for m in first] == ["1…", "51…", "101…", "151…", "201…"]
    assert len({m.style.size for m in first}) == 1
    assert {"1-50", "51-100", "101-150", "151-200"} <= set(words(page))  # of the shorter line


def test_strings_without_room_for_numbers_have_them_at_their_connectors(site, tmp_path):
    """400 pixels in eight strings of 9 mm on paper: "301…" would be smaller than 1.9 mm in them."""
    wall = WALL.replace("20 mm", "25 mm") + "string = { pixels = 50, wire = '18 AWG' }\n"
    (tmp_path / "wall.toml").write_text(wall)
    page = diagram(Site.read(tmp_path / "wall.toml"), ROOM)
    text = words(page)
    assert [t for t in text if re.fullmatch(r"\d: \d+", t)] == [
        f"{n}: {50 * (n - 1) + 1}" for n in range(2, 9)
    ]
    assert any("2: 51 is connector 2, before pixel 51" in t for t in text)
    assert not any("is connector 2" in t for t in words(diagram(site(), ROOM)))


def test_no_figure_of_the_diagram_is_apart_from_its_unit(examples):
    """A lead of 9 ft that is assumed, with its resistor, takes two lines."""
    own = Site.read(examples / "marlow-bend" / "house.toml")
    text = words(diagram(own, ROOM))
    at = text.index("D1: data lead 9 ft (assumed),")
    assert text[at + 1] == "33 ohm"
    assert not any(re.match(r"(ohm|ft|in|A|V)\b", t) for t in text)


def test_nothing_of_the_diagram_is_off_its_page(site, examples):
    for own in (site(), *(Site.read(f) for f in sorted(examples.glob("*/house.toml")))):
        page = diagram(own, ROOM)
        for mark in page.marks:
            if isinstance(mark, (Stroke, Area)):
                points = mark.points
            elif isinstance(mark, Dot):
                points = (mark.centre,)
            else:
                half = 0.5 * mark.style.size * len(mark.text)
                x, y = mark.at
                left = {"start": 0, "middle": half / 2, "end": half}[mark.style.anchor]
                points = ((x - left, y), (x - left + half, y))
            for x, y in points:
                assert -0.5 <= x <= page.width + 0.5 and 0 <= y <= page.height, mark


@pytest.mark.parametrize("house", ["sallow-barn", "fern-lane", "alder-cottage", "kelder-studio"])
def test_no_mark_of_a_tap_and_no_word_of_a_bus_lies_on_a_wire(examples, house):
    """Letters are taken to be 0.5 of their size wide, as above."""
    own = Site.read(examples / house / "house.toml")
    page = diagram(own, ROOM)
    upright = [
        (a[0], min(a[1], b[1]), max(a[1], b[1]))
        for mark in page.marks
        if isinstance(mark, Stroke) and not mark.dash
        for a, b in pairwise(mark.points)
        if abs(a[0] - b[0]) < 0.01 and abs(a[1] - b[1]) > 5
    ]
    marks = {lead.mark for lead in leads(own) if lead.kind in ("tie", "tap", "bus")}
    seen = [m for m in page.marks if isinstance(m, TextLine)]
    # Behind the mark of a bus its gauge is written, and how it is tied below it.
    buses = [m.at[1] for m in seen if m.text in marks and "." not in m.text]
    beside = [m for m in seen if any(-1 < m.at[1] - y < 7 for y in buses) and "." not in m.text]
    named = [m for m in seen if m.text in marks]
    assert len(named) == len(marks)
    boxes = [(x, y, 0.5 * m.style.size * len(m.text), m) for m in named for x, y in [m.at]]
    for (x, y, wide, one), (u, v, other, two) in combinations(boxes, 2):
        left, right = (
            at - w * (m.style.anchor == "end") for at, w, m in ((x, wide, one), (u, other, two))
        )
        assert left + wide < right or right + other < left or abs(y - v) > 2.6, (one, two)
    for mark in (*named, *beside):
        wide, (x, y) = 0.5 * mark.style.size * len(mark.text), mark.at
        low = x - wide * {"start": 0, "middle": 0.5, "end": 1}[mark.style.anchor]
        crossed = [at for at, top, foot in upright if low < at < low + wide and top < y - 1 < foot]
        assert not crossed, mark


TAP = '[[tap]]\ntrunk = "main run"\nat = "pixel {}"\nlength = "1 ft"\nfuse = 3\n'


@given(pixels=st.sets(st.integers(2, 61), min_size=1, max_size=25))
def test_nothing_is_drawn_on_the_wrong_side_of_a_cut(tmp_path_factory, pixels):
    """However many taps crowd on one side of it, all joints keep their order and their room."""
    file = tmp_path_factory.mktemp("taps") / "house.toml"
    file.write_text(WIRED.replace("[[bus]]", "".join(map(TAP.format, pixels)) + "[[bus]]"))
    own = Site.read(file)
    block = next(b for b in blocks(own) if b.line == "above")
    need = sum(m.room for m in landmarks(own, block)) + 2
    bar = lay(own, block, 100, 100 + max(80, need))
    marks = sorted(landmarks(own, block), key=lambda m: m.wire)
    xs = [bar.marks[m.mark] for m in marks if m.mark]
    assert xs == sorted(xs)
    taps = [bar.marks[m] for m in bar.marks if m.startswith("T1.")]
    assert all(x < bar.marks["Cut 1"] for x in taps)
    assert bar.marks["F2"] > bar.marks["Cut 1"] and bar.connectors == sorted(bar.connectors)
    assert diagram(own, ROOM).width >= ROOM[0]


@pytest.mark.parametrize(
    ("cuts", "told"),
    [
        ((20, 90), "Cut 1: plus only, 20 | 21"),
        ((20, 90, 140), "Cut 2: 90 | 91"),
        ((20, 40, 60, 80, 100, 120, 140), "Cut 7"),
    ],
)
def test_each_cut_has_its_name_and_lies_on_no_number(site, cuts, told):
    """The third of three names lay on the second, and a cut went through the numbers of a string.

    Bold letters are taken to be 0.53 of their size wide: the mean of Helvetica's in such words [M].
    """
    asked = ", ".join(f'"after pixel {n}"' for n in cuts)
    page = diagram(site(('cuts = ["after pixel 80"]', f"cuts = [{asked}]")), ROOM)
    seen = [m for m in page.marks if isinstance(m, TextLine)]
    names = sorted((m for m in seen if re.match(r"Cut \d", m.text)), key=lambda m: m.at[0])
    assert [m.text[:5] for m in names] == [f"Cut {n}" for n in range(1, len(cuts) + 1)]
    assert told in {m.text for m in names}
    for a, b in pairwise(names):
        assert b.at[0] - a.at[0] > 0.53 * 3 * (len(a.text) + len(b.text)) / 2
    inside = [m for m in seen if re.fullmatch(r"\d+(-\d+|…)", m.text)]
    crossed = [
        m.points[-1][0]
        for m in page.marks
        if isinstance(m, Stroke) and m.dash and m.colour == symbols.PLUS and len(m.points) == 3
    ]
    assert len(crossed) == len(cuts)
    (level,) = {m.at[1] for m in names}
    for m in inside:
        if 0 < m.at[1] - level < 15:
            assert all(abs(x - m.at[0]) > 0.25 * m.style.size * len(m.text) for x in crossed), m


@pytest.mark.parametrize(
    "cut", ['"connector 2"', '"after pixel 50"', '"after pixel 100", "after pixel 140"']
)
def test_a_string_begins_at_its_connector_beside_a_cut_too(site, cut):
    """A cut after pixel 100 has as many pixels before it as connector 3, and was taken for that."""
    own = site(('cuts = ["after pixel 80"]', f"cuts = [{cut}]"))
    page = diagram(own, ROOM)
    block = next(b for b in blocks(own) if b.line == "above")
    xs = sorted(lay(own, block, 108, page.width - 2).connectors)
    first, second = (
        m.at[0]
        for text in ("51-100", "101-150")
        for m in page.marks
        if isinstance(m, TextLine) and m.text == text
    )
    assert xs[0] < first < xs[1] < second < xs[2]


@given(
    wished=st.lists(st.tuples(st.floats(0, 100), st.floats(0.5, 12)), max_size=8).map(sorted),
)
def test_spread_keeps_order_and_room(wished):
    high = 100 + sum(room for _, room in wished)
    xs = spread(wished, 0, high)
    assert all(-1e-9 <= x <= high for x in xs)
    for (x, (_, one)), (y, (_, two)) in pairwise(zip(xs, wished, strict=True)):
        assert y - x >= (one + two) / 2 - 1e-9
    if all(y - x > 12 for (x, _), (y, _) in pairwise(wished)):
        assert xs == pytest.approx([x for x, _ in wished])


def test_every_colour_word_of_a_blade_fuse_can_be_drawn():
    assert set(symbols._FUSES) == set(BLADES.values())


def test_a_line_without_a_fuse_is_shown_without_one(site):
    own = site(("fuse = 4\n", ""))
    assert "NO FUSE" in words(diagram(own, ROOM))
    assert "NO FUSE" not in words(diagram(site(), ROOM))


def test_a_supply_that_comes_twice_is_said_to(site):
    """Line "below" hangs on the workshop, "above" on the garage and the workshop."""
    feed = '[[feed]]\nsupply = "{}"\nto = "{}"\nwire = "14 AWG"\nlength = "4 ft"\nfuse = 3\n'
    more = feed.format("garage", "below")
    own = site(("[[bus]]", more + "[[bus]]"))
    text = words(diagram(own, ROOM))
    assert "workshop, again" in text and "garage, again" in text


def test_a_house_whose_pixels_lie_in_one_plane_has_its_sheets(sheets):
    """Seen from above it is a line without depth."""
    assert (sheets / "sheets.pdf").stat().st_size > 10_000


def test_the_cut_is_drawn_across_its_own_line(site):
    page = elevations(site())
    strokes = [
        m
        for m in page.marks
        if isinstance(m, Stroke) and m.colour == symbols.PLUS and m.width == 0.5
    ]
    dots = [m.centre for m in page.marks if isinstance(m, Dot) and m.fill == COLOURS[1]]
    assert len(strokes) == 4  # two in the front view, two in the plan
    for stroke in strokes:
        x, y = (sum(values) / 2 for values in zip(*stroke.points, strict=True))
        assert min(abs(x - u) + abs(y - v) for u, v in dots) < 2


def test_pictures_scroll_sideways_on_a_phone(sheets):
    """So that the diagram's text isn't shrunk to the width of the screen."""
    page = (sheets / "sheets.html").read_text()
    held = re.findall(r'<div class="wide" tabindex="0" role="group" aria-label="[^"]+"><svg', page)
    assert len(held) == page.count("<svg") >= 3
    assert "@media screen and (max-width:44rem){.wide svg{width:44rem}" in page


def test_the_diagram_is_a_file_of_its_own(sheets):
    assert "T1.2" in (sheets / "wiring.svg").read_text()


def test_a_small_houses_list_begins_under_its_diagram(tmp_path):
    """Half a page of nothing was between them; a large house's diagram has its page alone."""
    start(tmp_path / "h")
    site = Site.read(tmp_path / "h" / "house.toml")

    def alone(height):
        parts = wiring_sheet(site, [], Drawing(180, height))
        return next(p.new_page for p in parts if isinstance(p, Heading) and p.text == "Wiring")

    assert not alone(diagram(site, (180, 250)).height)
    assert alone(200)


def test_a_short_last_string_has_its_numbers():
    page = Drawing(180, 40)
    in_strings(page, [(0, 40, 1, 50), (40, 80, 51, 100), (80, 97, 101, 130)], 4)
    sizes = {m.text: m.style.size for m in page.marks if isinstance(m, TextLine)}
    assert set(sizes) == {"1-50", "51-100", "101-130"}
    assert SMALLEST <= sizes["101-130"] < sizes["1-50"] == 3.0
