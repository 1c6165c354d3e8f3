"""The book of sheets: whole, readable, and saying what the map says."""

import csv
import io
import json
import math
import re
import sys
from fractions import Fraction
from html.parser import HTMLParser
from xml.etree import ElementTree

import pytest
from PIL import Image

from lumenmap.core.errors import InputError
from lumenmap.drawing.document import Table
from lumenmap.house.reading.load import load_house
from lumenmap.pixels.build import map_pixels
from lumenmap.sheets.plans.mapping import Mapping, mapping
from lumenmap.sheets.rails.families import families
from lumenmap.sheets.rails.rails import rails
from lumenmap.sheets.rails.tape import show_mark
from lumenmap.sheets.write import write_sheets
from tests.drawing.paper import words
from tests.small_house import HOUSE

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module", params=["alder-cottage", "marlow-bend", "tannery-row"])
def written(request, tmp_path_factory, examples):
    """An example's sheets in a folder."""
    folder = tmp_path_factory.mktemp(request.param) / "sheets"
    report = write_sheets(examples / request.param / "house.toml", folder)
    return mapping(examples / request.param / "house.toml"), folder, report


def seen(folder):
    """What a person sees in a folder; the record of which files are ours is hidden."""
    return sorted(p.name for p in folder.iterdir() if p.name != ".lumenmap-files.json")


def rows(folder, name):
    return list(csv.DictReader(io.StringIO((folder / f"{name}.csv").read_text())))


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


class Reader(HTMLParser):
    """Holds that every tag is closed in order, and gathers the text."""

    def __init__(self):
        super().__init__()
        self.open, self.text, self.links, self.ids = [], [], [], []

    def handle_starttag(self, tag, attrs):
        attrs = dict(attrs)
        self.links += [v for k, v in attrs.items() if k in ("src", "href")]
        self.ids += [attrs["id"]] if "id" in attrs else []
        if tag not in ("meta", "input"):
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        pass

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text.append(data)


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


def test_the_cut_list_adds_up(written):
    pixel_map, folder, report = written
    cut = rows(folder, "cut-list")
    assert sum(int(r["how many"]) for r in cut) == report["rails"] == len(rows(folder, "hanging"))
    hung = (pixel_map.site.pixels.edge >= 0).sum()
    assert sum(int(r["how many"]) * int(r["holes"]) for r in cut) == hung
    assert len(rows(folder, "stock")) == report["stock"]
    assert 0 <= report["waste"] < 1


def test_the_drill_sheet_gives_every_hole_and_its_error(written):
    """In the marks of the usual tape: 1/16 in, or 1 mm; every hole of every family once."""
    pixel_map, folder, _ = written
    feet = pixel_map.site.house.unit == "ft"
    unit, tape, division = ("in", "1/16 in", 1 / 16) if feet else ("mm", "1 mm", 1)
    drilled = rows(folder, "drill-sheet")
    assert len(drilled) == sum(f.leader.count for f in families(rails(pixel_map.site.line_layouts)))
    for r in drilled:
        place, mark = float(r[f"exact, {unit}"]), number(r[f"mark on a {tape} tape"])
        assert abs(mark - place) <= division / 2 + 0.0051
        assert (mark / division) == pytest.approx(round(mark / division))
        assert float(r[f"error, {unit}"]) == pytest.approx(mark - place, abs=0.011)


def number(mark):
    """A mark such as 14 13/32, as a number."""
    return float(sum(Fraction(part) for part in mark.split()))


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


def test_the_bill_multiplies(written):
    pixel_map, folder, _ = written
    for r in rows(folder, "what-to-buy"):
        number = [float(re.match(r"[\d.]+", r[c] or "0")[0]) for c in ("needed", "spare", "buy")]
        assert number[0] + number[1] == pytest.approx(number[2])
        if r["cost"]:
            money = [float(re.sub(r"[^\d.]", "", r[c])) for c in ("price each", "cost")]
            assert money[1] == pytest.approx(money[0] * number[2], abs=0.005)
    size = pixel_map.site.house.string.pixels
    name = f"string of {size} pixels" if size else "pixels"
    pixels = next(r for r in rows(folder, "what-to-buy") if r["item"].startswith(name))
    spans = pixel_map.site.pixels.lines
    assert int(pixels["needed"]) == sum(math.ceil(s.count / (size or 1)) for s in spans)


def told(folder):
    """Return the page's text, with plain spaces."""
    reader = Reader()
    reader.feed((folder / "sheets.html").read_text())
    return " ".join(" ".join(reader.text).replace("\N{NO-BREAK SPACE}", " ").split())


@pytest.mark.parametrize(
    ("spacing", "tape", "says"),
    [
        ("4 in", "", "Every hole is exactly on a mark. To check: every step is exactly 4 in."),
        ("2 1/16 in", 'tape = "1/32 in"', "Every hole is exactly on a mark."),
        (
            # Hole 2 at 3.6 in is read as 3 5/8. Hole 40, by steps of 2 3/8: 15.8 sixteenths short.
            "2.4 in",
            "",
            "The worst hole, 2, is 0.025 in off. If you measured from hole to hole, the last "
            "would be 0.988 in off.",
        ),
        ("2.4 in", 'tape = "1/100 in"', "Every hole is exactly on a mark."),
        ("2.4 in", 'tape = "1/2 mm"', "Figures are millimetres from the datum end"),
        ("4 in", 'bit = "33/64 in"', "Bit: 33/64 in."),
        ("4 in", 'bit = "12 mm"', "Bit: 12 mm."),
    ],
)
def test_the_drill_sheet_is_for_the_owners_tape(tmp_path, spacing, tape, says):
    """Errors by hand: 2.4 in is 38.4 sixteenths; each step is rounded down by 0.4 of one [K]."""
    file = tmp_path / "house.toml"
    text = HOUSE.replace('"3 in"', f'"{spacing}"')
    file.write_text(f"{text}\n[drill]\n{tape}\n" if tape else text)
    write_sheets(file, tmp_path / "out")
    assert says in told(tmp_path / "out")
    assert not list((tmp_path / "out").glob("*.nc"))  # a tape isn't a machine


def test_the_check_of_a_metric_tape_is_in_its_own_millimetres(tmp_path):
    file = tmp_path / "house.toml"
    file.write_text(HOUSE.replace('"3 in"', '"80 mm"').replace('unit = "ft"', 'unit = "m"'))
    write_sheets(file, tmp_path / "out")
    assert "To check: every step is exactly 80 mm." in told(tmp_path / "out")


@pytest.mark.parametrize(("sun", "says"), [("", True), ("in_sun = false", False)])
def test_the_warmest_that_rails_are_hung_for_says_what_of_it_is_the_suns(tmp_path, sun, says):
    """95 F in the house file and 30 F for the sun (Carlon, as the table of materials has it [P])."""
    rail = f'material = "pvc pipe"\ncoldest = "0 F"\nwarmest = "95 F"\n{sun}\n'
    (tmp_path / "house.toml").write_text(HOUSE.replace("[rail]\n", f"[rail]\n{rail}"))
    write_sheets(tmp_path / "house.toml", tmp_path / "out")
    text = told(tmp_path / "out")
    assert ("125 °F, which is 30 °F above the warmest air" in text) == says
    assert ("then just touch at 95 °F. From" in text) != says


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


@pytest.mark.parametrize(("currency", "sum_"), [("$", "$6.80"), ("CHF", "CHF 6.80"), ("", "6.80")])
def test_costs_carry_the_currency(tmp_path, currency, sum_):
    file = tmp_path / "house.toml"
    file.write_text(HOUSE + f'\n[buying]\ncurrency = "{currency}"\nprices = {{ rail = 6.8 }}\n')
    write_sheets(file, tmp_path / "out")
    rail = rows(tmp_path / "out", "what-to-buy")[0]
    assert rail["price each"] == sum_
    total = sum_.replace("6.80", f"{6.8 * int(rail['buy']):.2f}")
    assert rail["cost"] == total
    assert (
        f"Total of the items with a price: {total}."
        in (tmp_path / "out" / "sheets.html").read_text()
    )


def test_clips_follow_the_rule_that_is_stated(written):
    """One at either end, and none further apart than 30 in or 0.75 m: 10 ft take five."""
    pixel_map, folder, _ = written
    feet = pixel_map.site.house.unit == "ft"
    step, name = (30 * 0.0254, "2 ft 6 in") if feet else (0.75, "0.75 m")
    clips = next(r for r in rows(folder, "what-to-buy") if r["item"].startswith("rail clips"))
    assert clips["item"] == f"rail clips, at most {name} apart"
    lengths = [r.pattern.length for r in rails(pixel_map.site.line_layouts)]
    fewest = sum(math.ceil(max(float(n) - 0.15, 0.1) / step) + 1 for n in lengths)
    assert fewest <= int(clips["needed"]) <= fewest + len(lengths)
    assert f"at most {name} between them" in told(folder)


def test_the_map_comes_out_in_rows_that_read_back(written):
    pixel_map, folder, _ = written
    got = rows(folder, "map")
    unit = pixel_map.site.house.unit
    per = {"ft": 0.3048, "m": 1.0}[unit]
    assert len(got) == len(pixel_map.site.pixels)
    for k in (0, len(got) // 2, len(got) - 1):
        xyz = [float(got[k][f"{a}_{unit}"]) * per for a in "xyz"]
        assert xyz == pytest.approx(pixel_map.site.pixels.xyz[k], abs=1e-6)
    whole = json.loads(pixel_map.json())
    assert len(whole["map"]) == whole["pixels"] == len(got)
    assert next(r["first"] for r in whole["runs"]) == 1


def test_the_picture_tells_numbers_ends_and_feeds(written, tmp_path):
    pixel_map, _, _ = written
    pixel_map.draw(tmp_path / "a.svg")
    root = ElementTree.parse(tmp_path / "a.svg").getroot()
    words = [t.text for t in root.iter(f"{SVG}text")]
    for span in pixel_map.site.pixels.lines:
        assert f"{span.name} start" in words and f"{span.name} end" in words
        assert any(w.startswith(f"{span.name}: {span.count}") for w in words)
    for i, feed in enumerate(pixel_map.site.house.feeds, 1):
        assert words.count(f"F{i}") >= 2, feed.name  # in the key, and where it joins
    dots = sum(1 for _ in root.iter(f"{SVG}circle"))
    assert dots >= (pixel_map.site.pixels.edge >= 0).sum()
    assert {"Front", "Plan, street at the bottom"} <= set(words)
    pixel_map.draw(tmp_path / "a.png")
    with Image.open(tmp_path / "a.png") as image:
        assert image.size == (2480, 1754)
        assert image.convert("L").getextrema() == pytest.approx((20, 255), abs=20)
    pixel_map.draw(tmp_path / "a.pdf")
    assert (tmp_path / "a.pdf").read_bytes().startswith(b"%PDF-")


def test_a_picture_of_another_kind_is_refused(written, tmp_path):
    with pytest.raises(
        InputError, match=r"a\.jpg: expected a file name ending in \.svg, \.png or \.pdf"
    ):
        written[0].draw(tmp_path / "a.jpg")


def test_a_price_of_nothing_names_the_nearest(tmp_path):
    file = tmp_path / "house.toml"
    file.write_text(HOUSE + "\n[buying]\nprices = { rial = 3 }\n")
    with pytest.raises(
        InputError, match=r'buying\.prices\.rial: no item "rial"; did you mean "rail"'
    ):
        write_sheets(file, tmp_path / "out")
    assert not (tmp_path / "out").exists() or not list((tmp_path / "out").iterdir())


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


def test_the_command_prints_table_rows_and_json(examples, lumenmap, tmp_path):
    house = examples / "marlow-bend" / "house.toml"
    done = lumenmap("map", house)
    assert done.code == 0 and "wing/hip-front-right" in done.out and "NOTE: edge" in done.out
    assert "637 pixels on 4 lines, 3 of them dark" in done.out
    table = list(csv.DictReader(io.StringIO(lumenmap("map", house, "--csv").out)))
    assert len(table) == 637 and table[0]["number"] == "1"
    assert json.loads(lumenmap("map", house, "--json").out)["pixels"] == 637
    assert lumenmap("map", house, "-p", tmp_path / "m.svg").code == 0
    lumenmap("map", house, "-p", tmp_path / "no" / "m.svg").fails(2, "can't be written")
    lumenmap("map", tmp_path / "none.toml").fails(2, "no such file")
    done = lumenmap("sheets", house, "-o", tmp_path / "s", "--json")
    assert done.code == 0 and json.loads(done.out)["rails"] == 18
    assert (tmp_path / "s" / "sheets.pdf").exists()


def test_a_mapping_is_made_of_the_same_map_as_anyone_s(examples):
    pixel_map = mapping(examples / "kelder-studio" / "house.toml")
    assert isinstance(pixel_map, Mapping)
    assert (
        pixel_map.site.pixels.xyz
        == map_pixels(load_house(examples / "kelder-studio" / "house.toml")).xyz
    ).all()


def test_peoples_own_drilling_programs_stay_and_ours_go(started, tmp_path):
    """A program of an earlier run would drill a rail wrongly; one that somebody else wrote stays."""
    house, out = started / "house.toml", tmp_path / "sheets"
    drill = '\n[drill]\ntravel = "4 m"\nbit = "12 mm"\ndepth = "5 mm"\nretract = "5 mm"\nfeed = "100 mm"\n'
    plain = house.read_text()
    house.write_text(plain + drill)
    out.mkdir()
    (out / "drill-mine.nc").write_text("G21")
    report = write_sheets(house, out)
    ours = [f for f in report["files"] if f.endswith(".nc")]
    assert ours and all((out / f).exists() for f in ours)
    house.write_text(plain)
    write_sheets(house, out)
    assert [f.name for f in out.glob("*.nc")] == ["drill-mine.nc"]
    assert (out / "drill-mine.nc").read_text() == "G21"


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
