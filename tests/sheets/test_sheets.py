"""The book of sheets: whole, readable, and saying what the map says."""

import csv
import io
import json
import re
import sys

import pytest

from lumenmap.drawing.document import Table
from lumenmap.sheets.rails.families import families
from lumenmap.sheets.rails.rails import rails
from lumenmap.sheets.rails.tape import show_mark
from lumenmap.sheets.write import write_sheets
from tests.drawing.paper import words
from tests.sheets.folder import Reader, rows, seen
from tests.small_house import HOUSE


def test_the_files_are_those_that_are_reported(written):
    _, folder, report = written
    assert seen(folder) == report["files"]
    assert {
        "sheets.pdf",
        "sheets.html",
        "template.pdf",
        "cut-list.csv",
        "drill-sheet.csv",
        "wiring.csv",
        "what-to-buy.csv",
        "map.csv",
    } <= set(report["files"])
    assert json.dumps(report)


def test_the_page_is_well_formed_and_stands_alone(written):
    pixel_map, folder, _ = written
    reader = Reader()
    reader.feed((folder / "sheets.html").read_text())
    assert reader.open == []
    text = " ".join(reader.text)
    assert all(link.startswith("#") and link[1:] in reader.ids for link in reader.links)
    for word in (
        pixel_map.site.house.name,
        "Cautions",
        "Ladder",
        "Cut list",
        "Wiring",
        "What to buy",
        "Hanging",
    ):
        assert word in text
    for kind in {r["rail kind"] for r in rows(folder, "cut-list")}:
        assert re.search(rf"Drill sheet: rails? .*\b{kind}\b", text)
    assert not re.search(r"\bsafe\b", text, re.I)


def test_the_pdf_holds_the_same_sheets(written):
    pixel_map, folder, _ = written
    pages = words(folder / "sheets.pdf")
    text = "\n".join(pages)
    for word in (
        "Cautions",
        "Ladder.",
        "Cut list",
        "Hanging",
        "Drill sheet",
        "Wiring",
        "What to buy",
        "Front",
        "Plan, street at the bottom",
    ):
        assert word in text, word
    assert f"page {len(pages)}" in text
    for line in pixel_map.site.house.lines:
        assert f'Line "{line.name}"' in text


def test_no_column_has_two_meanings(written):
    """Within a file names differ; across files, rails and pixels have words of their own."""
    _, folder, report = written
    for name in (f for f in report["files"] if f.endswith(".csv")):
        head = next(csv.reader(io.StringIO((folder / name).read_text())))
        assert len(set(head)) == len(head), name
    assert set(rows(folder, "cut-list")[0]) & set(rows(folder, "hanging")[0]) == {"rail kind"}


def test_the_wiring_sheet_follows_the_data(written):
    pixel_map, folder, _ = written
    joints = rows(folder, "wiring")
    for walk, span in zip(pixel_map.site.line_layouts, pixel_map.site.pixels.lines, strict=True):
        mine = [r for r in joints if r["line"] == span.name]
        assert mine[0]["from"].startswith(f"controller, output for line {span.name}")
        assert mine[-1]["from"] == f"pixel {span.count}"
        text = " ".join(r["to"] for r in mine)
        for leg in walk.runs:
            assert f"{leg.item.edge}: data enters" in text
            assert (
                f"pixel {leg.first + 1}, and runs towards its {'start' if leg.item.reversed else 'end'}"
                in text
            )
        for leg in walk.runs:
            if leg.jumper:
                assert any(r["wire between"].startswith("jumper") for r in mine)
    house = pixel_map.site.house
    assert len(rows(folder, "wires")) == len(house.feeds)  # these houses have feeds only


def test_a_column_that_is_only_in_the_csv_file_leaves_its_room_to_the_others():
    table = Table(
        "x", ("line", "a", "b"), (("l", "1", "2"),), widths=(0.2, 0.2, 0.6), csv_only=(0,)
    )
    shown = table.printed()
    assert shown.columns == ("a", "b") and shown.rows == (("1", "2"),)
    assert shown.widths == pytest.approx((0.25, 0.75))


def test_every_hole_is_a_box_to_tick_on_one_page_of_paper(written):
    pixel_map, folder, _ = written
    page = (folder / "sheets.html").read_text()
    lists = re.findall(r'<ol class="ticks".*?</ol>', page)
    kinds = families(rails(pixel_map.site.line_layouts))
    assert [len(re.findall("<li>", one)) for one in lists] == [f.leader.count for f in kinds]
    keys = re.findall(r'data-key="([^"]+)"', page)
    assert len(set(keys)) == len(keys) > sum(f.leader.count for f in kinds)
    assert not re.search(r"<b>\d+ \d", page)  # a fraction doesn't break over two lines
    papers = [p for p in words(folder / "sheets.pdf") if "Figures are" in p]
    assert len(papers) == len(kinds)
    for paper, family in zip(papers, kinds, strict=True):
        lines = " ".join(paper.split())
        tape = pixel_map.site.house.bench.tape
        for place in family.leader.holes():
            assert f"{show_mark(place, tape)}" in lines


def test_without_the_pdf_library_the_rest_is_written_and_it_is_said(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "reportlab", None)
    file = tmp_path / "house.toml"
    file.write_text(HOUSE)
    report = write_sheets(file, tmp_path / "out")
    assert seen(tmp_path / "out") == report["files"]
    assert "sheets.html" in report["files"] and "what-to-buy.csv" in report["files"]
    assert report["missing"] == ["sheets.pdf", "template.pdf"]
    assert "sheets.pdf and template.pdf need the reportlab library" in report["words"][-1]


def test_paper_follows_the_unit_or_the_owner(tmp_path):
    file = tmp_path / "house.toml"
    file.write_text(HOUSE)
    for paper, size in (("a4", (595, 842)), ("letter", (612, 792)), (None, (612, 792))):
        write_sheets(file, tmp_path / str(paper), paper)
        data = (tmp_path / str(paper) / "sheets.pdf").read_bytes()
        boxes = re.findall(rb"/MediaBox \[ 0 0 ([\d.]+) ([\d.]+) \]", data)
        assert {tuple(round(float(v)) for v in b) for b in boxes} == {size, size[::-1]}


def test_a_hard_name_does_no_harm(tmp_path):
    """Signs that TOML, CSV, HTML, XML, PDF and G-code each dislike."""
    file = tmp_path / "house.toml"
    file.write_text(
        HOUSE.replace('"Test House"', '"Łódź O\'Brien"')
        + "\n[drill]\ntravel = 2\nbit = 0.04\ndepth = 0.04\nretract = 0.02\nfeed = 0.5\n"
    )
    write_sheets(file, tmp_path / "out")
    assert "Łódź O&#x27;Brien" in (tmp_path / "out" / "sheets.html").read_text()
    assert (tmp_path / "out" / "drill-A.nc").read_text().isascii()
    file.write_text(HOUSE)
    write_sheets(file, tmp_path / "out")  # a program that fits no rail any more is taken away
    assert not list((tmp_path / "out").glob("*.nc"))


def test_every_page_says_what_can_hurt_there(written):
    """The cautions, with distances in the house's own unit; and a line on each page."""
    site, folder = written[0].site, written[1]
    page = " ".join((folder / "sheets.html").read_text("utf-8").split())
    for said in (
        "Stay with the first long run",
        "feel the supply, the fuse holders and the joints",
        "Keep supplies out of attics and cupboards",
        "the mains screws are bare",
        "asbestos",
        "Deburr every hole in metal",
        "dust of PVC",
        "thunderstorm",
        "red and blue alternate, or flash, towards a road",
        "Lines on poles and towers carry more voltage",
        "an RCD" if site.house.unit == "m" else "a GFCI",
    ):
        assert said in page, said
    own, other = (
        ("3 m from", "10 ft from") if site.house.unit == "m" else ("10 ft from", "3 m from")
    )
    assert own in page and other not in page
    for paper in words(folder / "sheets.pdf"):
        text = " ".join(paper.split())
        assert "Unplug first. Ladder: feet out a quarter of its length" in text
        assert own in text
    for paper in words(folder / "template.pdf"):
        assert "wear eye protection, clamp the rail" in " ".join(paper.split())
