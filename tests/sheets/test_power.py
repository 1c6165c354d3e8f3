"""The power sheet: no fuse is praised that protects nothing, and every warning comes along."""

import csv
import re
from html import unescape

import pytest

from lumenmap.house.reading.load import load_house
from lumenmap.parts.ampacity import AMPACITY
from lumenmap.pixels.build import map_pixels
from lumenmap.power.report.report import power_report
from lumenmap.sheets.fuse_check import check_power
from lumenmap.sheets.write import write_sheets
from lumenmap.site import Site
from tests.drawing.paper import words
from tests.small_house import BARE

FEED = '[[feed]]\nsupply = "garage"\nto = "front"\nwire = "{wire}"\nlength = "10 ft"\n{fuse}\n'
STRING = '[wiring]\nstring = "{string}"\nambient = "30 C"\n'
#: What the sheet may only say where it is so.
PRAISE = "None is larger than the ampacity of the thinnest wire behind it"


@pytest.fixture
def sheets(tmp_path):
    def made(wire="14 AWG", fuse="", string="18 AWG", more="", text=BARE):
        file = tmp_path / "house.toml"
        feed = FEED.format(wire=wire, fuse=f"fuse = {fuse}" if fuse else "")
        file.write_text(text + feed + STRING.format(string=string) + more)
        report = write_sheets(file, tmp_path / "out")
        return file, tmp_path / "out", report

    return made


def rows(folder, name):
    return list(csv.DictReader((folder / f"{name}.csv").read_text().splitlines()))


def text_of(folder):
    """Return the words of the page and of the PDF."""
    page = re.sub(r"<[^>]+>", " ", (folder / "sheets.html").read_text())
    page = unescape(" ".join(page.split()))
    return page, " ".join(" ".join(words(folder / "sheets.pdf")).split())


@pytest.mark.parametrize(
    ("wire", "fuse", "string", "says"),
    [
        # 18 AWG carries 6 A by NEC table 402.5, so a 10 A blade does not protect it.
        (
            "14 AWG",
            "10",
            "18 AWG",
            r"a fuse of 10 A doesn't protect the string's own wire, 18 AWG, which may carry 6 A\. "
            r"Fit a fuse of 5 A at most",
        ),
        (
            "18 AWG",
            "7.5",
            "16 AWG",
            r"a fuse of 7\.5 A doesn't protect the feed's wire, 18 AWG, which may carry 6 A",
        ),
        (
            "14 AWG",
            "",
            "18 AWG",
            r"no fuse, and the string's own wire behind it, 18 AWG, may carry 6 A",
        ),
        (
            "14 AWG",
            "5",
            "28 AWG",
            r"28 AWG, which may carry 0\.22 A\. Use thicker wire, since no blade fuse is small enough",
        ),
    ],
)
def test_a_fuse_that_does_not_protect_is_said_first_and_everywhere(
    sheets, wire, fuse, string, says
):
    _, folder, report = sheets(wire, fuse, string)
    page, pdf = text_of(folder)
    for text in (page, pdf, " ".join(report["words"])):
        assert re.search("F1: Feed.*" + says, text)
        assert PRAISE not in text
    assert "NOT protected: the wire behind F1" in page
    (row,) = rows(folder, "wires")
    assert "TOO LARGE" in row["fuse"] or "NONE" in row["fuse"]
    bought = (folder / "what-to-buy.csv").read_text()
    assert ("TOO LARGE for the wire" in bought) == bool(fuse)


@pytest.mark.parametrize("fuse", ["1", "2", "3", "4", "5", "7.5", "10", "15", "20", "30", "40"])
@pytest.mark.parametrize("string", ["20 AWG", "18 AWG", "16 AWG", "14 AWG", "12 AWG", "1.5 mm2"])
def test_a_fuse_protects_exactly_where_the_table_says_so(load, fuse, string):
    more = FEED.format(wire="12 AWG", fuse=f"fuse = {fuse}") + STRING.format(string=string)
    house = load(add=more)
    power = check_power(Site(house, map_pixels(house)))
    rows = AMPACITY["planner"].amps
    gauge = {"1.5 mm2": 16}.get(string) or int(string.split()[0])  # 16 AWG is 1.31 mm2
    least = min(rows[gauge], rows[12])
    assert [f.lead.mark for f in power.unprotected] == ([] if float(fuse) <= least else ["F1"])


def test_all_warnings_of_the_power_command_are_in_pdf_page_and_table(sheets):
    file, folder, report = sheets(fuse="10")
    house = load_house(file)
    found = power_report(Site(house, map_pixels(house))).findings
    assert len(found) > 3
    warnings = [r["warning"] for r in rows(folder, "power-warnings")]
    notes = [r["note"] for r in rows(folder, "power-notes")]
    assert warnings == report["warnings"] and warnings and notes
    assert [*warnings, *notes] == list(map(str, found))
    page, pdf = text_of(folder)
    for warning in [*warnings, *notes]:
        assert " ".join(warning.split()) in page
    dense = pdf.replace(" ", "")
    assert all(w[:40].replace(" ", "") in dense for w in warnings)


def test_a_fuse_that_protects_is_said_to_by_which_table(sheets):
    _, folder, _ = sheets(wire="14 AWG", fuse="5")
    for text in text_of(folder):
        assert f'{PRAISE}, by table "planner"' in text
        assert "NOT protected" not in text


def test_a_wiring_that_cant_be_judged_praises_no_fuse(sheets):
    """Two supplies, and a line that neither is said to feed: rails can be drilled all the same."""
    more = (
        '[[line]]\nname = "b"\npath = ["main/eave-left"]\n'
        '[[supply]]\nname = "attic"\nvolts = 12\namps = 5\n'
    )
    _, folder, report = sheets(fuse="5", more=more)
    page, _ = text_of(folder)
    assert "The wiring and the fuses can't be checked" in report["warnings"][0]
    assert "was NOT checked" in page and PRAISE not in page
    (row,) = rows(folder, "wires")
    assert row["fuse"] == "5 A, tan: not checked"
