"""Wires on the sheets: marks, places, the bill counted by hand, cuts, the diagram, the labels.

The reference for counts and lengths is adding up by hand, in the comments; the house is invented.
"""

import csv
import io
import re
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.core.errors import InputError
from lumenmap.drawing.canvas import Area, Dot, Drawing, Stroke, TextLine
from lumenmap.drawing.document import Heading
from lumenmap.house.load import load_house
from lumenmap.parts.cautions import ladder
from lumenmap.parts.fuses import BLADES
from lumenmap.sheets.plans.elevations import COLOURS, elevations
from lumenmap.sheets.wires import symbols
from lumenmap.sheets.wires.bar import landmarks, lay, spread
from lumenmap.sheets.wires.blocks import blocks
from lumenmap.sheets.wires.data import assumed_leads, data_leads, remedies
from lumenmap.sheets.wires.diagram import diagram
from lumenmap.sheets.wires.leads import cuts, leads
from lumenmap.sheets.wires.numbers import SMALLEST, in_strings
from lumenmap.sheets.wires.spots import tell
from lumenmap.sheets.wires.tags import labels, tags
from lumenmap.sheets.wiring_sheet import wiring_sheet
from lumenmap.sheets.write import write_sheets
from lumenmap.site import Site
from lumenmap.starter.start import start
from tests.sheets.wired import WIRED
from tests.small_house import WALL

FOOT = 0.3048
ROOM = (186.0, 222.0)
ORDER = "cut the plus wire between pixels 80 and 81; leave minus and data"


@pytest.fixture
def site(tmp_path):
    """The invented house, with text replaced."""

    def made(*edits, add=""):
        text = WIRED
        for old, new in edits:
            assert old in text, old
            text = text.replace(old, new, 1)
        file = tmp_path / "house.toml"
        file.write_text(text + add)
        return Site(load_house(file))

    return made


@pytest.fixture(scope="module")
def sheets(tmp_path_factory):
    """Its sheets in a folder."""
    folder = tmp_path_factory.mktemp("barn")
    (folder / "house.toml").write_text(WIRED)
    write_sheets(folder / "house.toml", folder / "out")
    return folder / "out"


def rows(folder, name):
    return list(csv.DictReader(io.StringIO((folder / f"{name}.csv").read_text())))


def words(page):
    return [m.text for m in page.marks if isinstance(m, TextLine)]


# Two lines: 20 ft and 40 ft, a hole every 3 in. 80 and 160 pixels, with a hidden one 161. In
# strings of 50: 2 and 4. Rails of 10 ft: 2 and 4, so 1 + 3 joints, and caps at 2 x 2 ends. A clip
# every 30 in and one more: 4 + 1 on each rail.
# Wire, one way. 14 AWG: feeds 5 and 9 ft, bus 20 ft = 34 ft. 12 AWG: 12 ft to the line and 15 ft
# alongside = 27 ft. 18 AWG: two taps of 1 ft. Data: 6 + 30 ft.
# Fuses. 3 A: two taps. 4 A: one feed and three ties. 5 A: one feed. 10 A: the trunk. Together 8.
# Plugs for power: two feeds, two taps, three ties, all at connectors. Glands: F1, F2, T1, two data
# leads, two for the mains.
BY_HAND = {
    "rail, 10 ft": (6, 0),
    "rail clips": (30, 0),
    "coupling": (4, 0),
    "end cap": (4, 0),
    "string of 50 pixels": (6, 1),
    "pair of 14 AWG stranded": (34, 0),
    "pair of 12 AWG stranded": (27, 0),
    "pair of 18 AWG stranded": (2, 0),
    "data lead": (36, 0),
    "blade fuse, 3 A, violet": (2, 1),
    "blade fuse, 4 A, pink": (4, 1),
    "blade fuse, 5 A, tan": (1, 1),
    "blade fuse, 10 A, red": (1, 1),
    "fuse holder": (8, 0),
    "three-core plug": (2, 1),
    "two-core plug": (7, 1),
    "cap for the last connector": (2, 0),
    "sealant": (1, 0),
    "controller with 2 outputs or more": (1, 0),
    "12 V to 5 V converter, fused": (1, 0),
    "level shifter": (1, 1),
    "resistor, 33 ohm": (2, 1),
    "supply workshop": (1, 0),
    "supply garage": (1, 0),
    "ventilated box": (2, 0),
    "cable gland": (7, 0),
}


def test_the_bill_is_what_hands_count(sheets):
    bought = rows(sheets, "what-to-buy")
    assert len(bought) == len(BY_HAND)
    for row, (name, (needed, spare)) in zip(bought, BY_HAND.items(), strict=True):
        assert row["item"].startswith(name)
        assert float(row["needed"].split()[0]) == needed, name
        assert float(row["spare"] or 0) == spare, name


def test_a_controller_of_one_output_on_5_volts_needs_no_converter(tmp_path, examples):
    write_sheets(examples / "tannery-row" / "house.toml", tmp_path / "out")
    bought = [r["item"] for r in rows(tmp_path / "out", "what-to-buy")]
    assert "controller with 1 output or more" in bought
    assert not any("converter" in item for item in bought)


def test_jumpers_splices_and_pixels_that_repeat_are_counted(tmp_path):
    text = WIRED.replace('path = ["low"]', 'path = ["low", { jumper = "13 ft" }, "hut"]')
    text = text.replace("[{ spares = 1 }, ", "[").replace("[string]\npixels = 50", "[string]")
    text = text.replace('["start", "connector 2", "end"]', '["start", "5 ft", "end"]')
    text = text.replace('at = "connector 2"', 'at = "pixel 50"').replace("tail = ", "# ")
    text += '[[edge]]\nname = "hut"\npoints = [[20, 10, 8], [25, 10, 8]]\n'
    (tmp_path / "house.toml").write_text(text.replace("connector_milliohms", "# "))
    write_sheets(tmp_path / "house.toml", tmp_path / "out")
    needed = {r["item"]: r["needed"] for r in rows(tmp_path / "out", "what-to-buy")}
    assert needed["jumper cable (plus, data, minus)"] == "13 ft"
    assert needed["pixel that repeats the data, for a long lead"] == "1"
    # Nothing plugs: two feeds, two taps, three ties, two starts of lines, two ends of the jumper.
    assert needed["splice with glue-lined heat-shrink sleeves"] == "11"
    assert needed["pixels, ws2811-12v"] == "260"  # 80 + 20, and 160
    assert not [name for name in needed if "plug" in name]


def test_a_string_costs_its_own_price_or_that_of_its_pixels(tmp_path):
    for prices, each in (("pixel = 0.2", "10.00"), ("pixel = 0.2, string = 9", "9.00")):
        (tmp_path / "house.toml").write_text(f"{WIRED}[buying]\nprices = {{ {prices} }}\n")
        write_sheets(tmp_path / "house.toml", tmp_path / "out")
        (row,) = [r for r in rows(tmp_path / "out", "what-to-buy") if "string of" in r["item"]]
        assert row["price each"] == each
        assert float(row["cost"]) == pytest.approx(7 * float(each))


def test_every_wire_has_a_mark_and_its_length(site):
    found = {lead.mark: lead for lead in leads(site())}
    assert list(found) == ["F1", "F2", "T1", "T1.1", "T1.2", "B1", "B1.1", "B1.2", "B1.3"]
    long = {"F1": 5, "F2": 9, "T1": 27, "T1.1": 1, "T1.2": 1, "B1": 20}
    for mark, lead in found.items():
        assert lead.length == pytest.approx(long.get(mark, 0) * FOOT)
    assert found["T1"].lead_in == pytest.approx(12 * FOOT)
    assert found["T1.2"].fuse == 3 and found["B1.3"].fuse == 4 and found["B1"].fuse is None


def test_a_place_is_told_by_connector_pixels_edge_and_distance(site):
    own = site()
    places = {lead.mark: tell(own, lead.line, lead.place) for lead in leads(own)}
    # Pixel 1 of "above" is hidden, so pixel 50 is the 49th hole, 1.5 in + 48 x 3 in = 12 ft 1.5 in.
    assert places["T1.2"] == (
        "connector 2, between pixels 50 and 51 on long, 12 ft 3 in along the line"
    )
    assert places["F1"] == "start of the line, before pixel 1 on low"
    assert places["F2"] == "end of the line, after pixel 161 on long, 40 ft along it"
    moved = site(('at = "end"\nwire = "14', 'at = "pixel 120"\nwire = "14'))
    (lead,) = [x for x in leads(moved) if x.mark == "F2"]
    # The 119th hole: 1.5 in + 118 x 3 in = 29 ft 7.5 in.
    assert tell(moved, "above", lead.place) == "at pixel 120 on long, 29 ft 7 1/2 in along the line"


def test_a_cut_is_told_on_map_diagram_wiring_sheet_and_labels(site, sheets):
    own = site()
    (cut,) = cuts(own)
    assert (cut.mark, cut.pixel, cut.order) == ("Cut 1", 80, ORDER)
    assert "Cut 1: plus only, 80 | 81" in words(elevations(own))
    assert f"above: {ORDER}" in words(elevations(own))
    assert "Cut 1: plus only, 80 | 81" in words(diagram(own, ROOM))
    joints = [r for r in rows(sheets, "joints") if "Cut" in r["what to do"]]
    (row,) = joints
    assert row["what to do"] == f"Cut 1: {ORDER}" and row["line"] == "above"
    # The 79th hole is at 1.5 in + 78 x 3 in = 19 ft 7.5 in.
    assert row["where"] == "between pixels 80 and 81 on long, 19 ft 7 1/2 in along the line"
    assert ("Cut 1", "above") in [(mark, text[0]) for mark, text in labels(own)]
    assert "plus of one must never touch" in (sheets / "sheets.html").read_text()


def test_no_cut_is_told_where_there_is_none(site):
    feed = WIRED[WIRED.index('[[feed]]\nsupply = "garage"') : WIRED.index("[[bus]]")]
    own = site(('cuts = ["after pixel 80"]', ""), (feed, ""))
    assert not [w for w in words(elevations(own)) + words(diagram(own, ROOM)) if "Cut" in w]


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
12 AWG stranded, 15 ft alongside after 12 ft
2 taps, each 18 AWG stranded, 1 ft
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


@pytest.mark.parametrize(("stop", "says"), [("15 ft", "cut all wires"), ("12.5 ft", "put the")])
def test_jumpers_are_in_the_table_of_what_is_done_where(site, tmp_path, stop, says):
    """60 pixels on 15 ft: in a string of 50. 50 on 12.5 ft: between two, which aren't plugged."""
    path = f'[{{ edge = "low", stop = "{stop}" }}, {{ jumper = "2 ft" }}, "other"]'
    x = stop.removesuffix(" ft")
    edge = f'[[edge]]\nname = "other"\nkind = "eave"\npoints = [[{x}, 1, 8], [{x}, 21, 8]]\n'
    site(('path = ["low"]', f"path = {path}"), add=edge)
    write_sheets(tmp_path / "house.toml", tmp_path / "out")
    done = [r for r in rows(tmp_path / "out", "joints") if r["line"] == "below"]
    (at,) = (i for i, r in enumerate(done) if "jumper of 2 ft" in r["what to do"])
    count = 60 if says == "cut all wires" else 50
    assert done[at]["what to do"].startswith(says)
    where = f"between pixels {count} and {count + 1}, at the end of low"
    assert done[at]["where"].startswith(where)
    between = [r["where"] for r in done if r["what to do"] == "plug the strings together"]
    assert any("pixels 50 and 51" in w for w in between) == (count == 60)


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


@pytest.mark.parametrize(
    ("lead", "repeats", "balanced"),
    [
        ("15 ft", False, False),
        ("15 ft 1 in", True, False),
        ("50 ft", True, False),
        ("50 ft 1 in", False, True),
    ],
)
def test_a_long_data_lead_has_its_remedies(site, lead, repeats, balanced):
    """From 15 and 50 ft on: common practice, no source."""
    own = site(('lead = "6 ft"', f'lead = "{lead}"'))
    first = data_leads(own)[0]
    assert (first.repeats, first.balanced) == (repeats, balanced)
    assert not first.assumed and assumed_leads(own) == ""
    assert ("TOO LONG" in " ".join(words(diagram(own, ROOM)))) == balanced


def test_a_lead_that_isnt_given_is_as_long_as_the_feed_and_said_to_be_assumed(site, sheets):
    own = site(('lead = "6 ft"', ""), ('lead = "30 ft"', ""))
    assert assumed_leads(own) == (
        "Data leads from the controller to pixel 1 are assumed: below 5 ft, above 10 ft; write "
        "lead in the [[line]]."
    )
    assert "D1: data lead 5 ft (assumed), 33 ohm" in " ".join(words(diagram(own, ROOM)))
    assert all("Data leads" not in r["until the house file says"] for r in rows(sheets, "assumed"))


def test_a_metric_house_has_metric_leads_and_cautions(examples):
    own = Site.read(examples / "kelder-studio" / "house.toml")
    text = " ".join([*words(diagram(own, ROOM)), *(" ".join(row) for row in remedies(own))])
    assert "over 5 m" in text and "3 m from power lines" in text
    assert not re.search(r"\d (ft|in)\b", text)


def test_each_remedy_says_where_its_figure_is_from(site):
    for _, _, source in remedies(site()):
        assert "data sheet" in source or "common practice, no source" in source


@pytest.mark.parametrize("bad", ['"-1 ft"', '"6 feets"', "true"])
def test_a_lead_that_makes_no_sense_is_refused(site, bad):
    with pytest.raises(InputError, match=r'line "below", lead: '):
        site(('lead = "6 ft"', f"lead = {bad}"))


def test_accepted_dangers_and_assumptions_are_on_the_sheets(site, sheets):
    page = (sheets / "sheets.html").read_text()
    assert page.count("because: Invented for the tests.") == 2  # at the start, and at the wires
    found = [r["until the house file says"] for r in rows(sheets, "assumed")]
    assert found == list(site().assumptions) and len(found) >= 5
    (row,) = [r for r in rows(sheets, "wires") if r["mark"] == "F2"]
    assert row["fuse"] == "5 A, tan: TOO LARGE; accepted"


def test_labels_come_in_pairs_and_fit_their_pages(site):
    own = site()
    marks = [mark for mark, _ in labels(own)]
    # Five pairs with two ends and a bus: 12; three ties; two data leads: 4; a cut.
    assert len(marks) == 12 + 3 + 4 + 1
    assert marks.count("F1") == 2 and marks.count("B1.2") == 1 and marks.count("D2") == 2
    pages = tags(own, (186.0, 100.0))
    assert sum(words(p).count(m) for p in pages for m in set(marks)) == len(marks)
    assert all(p.height <= 102 for p in pages) and len(pages) > 1
    small = [m for p in pages for m in p.marks if isinstance(m, TextLine) and m.style.size < 3]
    assert not small  # what is long goes on below, in type that is read in the hand
    assert all(0 < m.at[1] < p.height for p in pages for m in p.marks if isinstance(m, TextLine))


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
    assert "@media screen and (max-width:44rem){.wide svg{width:44rem}}" in page


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
