"""What to cut and drill: the cut list, and the drill sheet for the owner's tape."""

import pytest

from lumenmap.drawing.document import Text
from lumenmap.pixels.build import layout_lines
from lumenmap.sheets.rails.cutting import cut_list
from lumenmap.sheets.rails.families import families
from lumenmap.sheets.rails.rails import rails
from lumenmap.sheets.rails.stock import cut
from lumenmap.sheets.write import write_sheets
from tests.sheets.folder import number, rows, told
from tests.small_house import HOUSE


def test_the_cut_list_adds_up(written):
    pixel_map, folder, report = written
    cut = rows(folder, "cut-list")
    assert sum(int(r["how many"]) for r in cut) == report["rails"] == len(rows(folder, "hanging"))
    hung = (pixel_map.site.pixels.edge >= 0).sum()
    assert sum(int(r["how many"]) * int(r["holes"]) for r in cut) == hung
    assert len(rows(folder, "stock")) == report["stock"]
    assert 0 <= report["waste"] < 1


def test_a_saw_cut_is_told_as_it_was_written(load):
    """A kerf of 1/8 in was 0.12 in, on a bench where tapes have eighths."""
    house = load(('hole_spacing = "3 in"', 'hole_spacing = "3 in"\nkerf = "1/8 in"'))
    placed = rails(layout_lines(house))
    bars = cut(placed, house.rail.length, house.rail.kerf)
    said = " ".join(p.text for p in cut_list(house, placed, bars) if isinstance(p, Text))
    assert "with 1/8 in for each saw cut" in said


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
