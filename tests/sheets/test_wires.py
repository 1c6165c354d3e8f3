"""Wires on the sheets: marks, places, the bill counted by hand, cuts, the diagram, the labels.

The reference for counts and lengths is adding up by hand, in the comments; the house is invented.
"""

import re

import pytest

from lumenmap.core.errors import InputError
from lumenmap.drawing.canvas import TextLine
from lumenmap.sheets.plans.elevations import elevations
from lumenmap.sheets.wires.data import assumed_leads, data_leads, remedies
from lumenmap.sheets.wires.diagram import diagram
from lumenmap.sheets.wires.leads import cuts, leads
from lumenmap.sheets.wires.spots import tell
from lumenmap.sheets.wires.tags import labels, tags
from lumenmap.sheets.write import write_sheets
from lumenmap.site import Site
from tests.sheets.wired import ORDER, ROOM, WIRED, rows, words

FOOT = 0.3048


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
    assert places["F2"] == "end of the line, after pixel 161 on long, 40 ft along the line"
    moved = site(('at = "end"\nwire = "14', 'at = "pixel 120"\nwire = "14'))
    (lead,) = [x for x in leads(moved) if x.mark == "F2"]
    # The 119th hole: 1.5 in + 118 x 3 in = 29 ft 7.5 in.
    assert tell(moved, "above", lead.place) == "at pixel 120 on long, 29 ft 8 in along the line"


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
    # The 79th hole is at 1.5 in + 78 x 3 in = 19 ft 7.5 in; to the inch.
    assert row["where"] == "between pixels 80 and 81 on long, 19 ft 8 in along the line"
    assert ("Cut 1", "above") in [(mark, text[0]) for mark, text in labels(own)]
    assert "plus of one must never touch" in (sheets / "sheets.html").read_text()


def test_no_cut_is_told_where_there_is_none(site):
    feed = WIRED[WIRED.index('[[feed]]\nsupply = "garage"') : WIRED.index("[[bus]]")]
    own = site(('cuts = ["after pixel 80"]', ""), (feed, ""))
    assert not [w for w in words(elevations(own)) + words(diagram(own, ROOM)) if "Cut" in w]


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
