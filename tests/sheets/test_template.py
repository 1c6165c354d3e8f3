"""The printed template measures right: rasterised by PDFium, its crosses are where the holes are."""

import itertools

import numpy as np
import pytest

from lumenmap.drawing.paper import PAPERS
from lumenmap.drawing.pdf import pdf
from lumenmap.sheets.plans.mapping import mapping
from lumenmap.sheets.rails.rails import rails
from lumenmap.sheets.rails.template import BAR_IN, BAR_MM, MARGIN, OVERLAP, strips, template
from tests.drawing.paper import rasterise

DPI = 300


def uprights(page, top, foot, *, dark=110):
    """Middles (mm) of thin upright strokes that fill the rows between top and foot (mm)."""
    rows = page[round(top / 25.4 * DPI) : round(foot / 25.4 * DPI)].astype(float)
    ink = np.clip((255 - rows) / 255, 0, 1).mean(axis=0)
    columns = np.flatnonzero((rows < dark + 60).mean(axis=0) > 0.95)
    groups = np.split(columns, np.flatnonzero(np.diff(columns) > 2) + 1) if len(columns) else []
    found = []
    for g in groups:
        near = np.arange(g[0] - 1, g[-1] + 2)
        found.append(float((near * ink[near]).sum() / ink[near].sum() + 0.5) / DPI * 25.4)
    return found


@pytest.mark.parametrize("name", ["alder-cottage", "tannery-row"])
def test_the_holes_of_the_printed_template_are_within_a_tenth_of_a_millimetre(
    examples, tmp_path, name
):
    pixel_map = mapping(examples / name / "house.toml")
    unit = pixel_map.site.house.unit
    paper = PAPERS["letter" if unit == "ft" else "a4"]
    placed = rails(pixel_map.site.line_layouts)
    file = tmp_path / "template.pdf"
    pdf(template(placed, paper, unit, None, pixel_map.site.house.name), file, "t")
    pages = list(rasterise(file, DPI))
    assert pages[0].shape == pytest.approx((paper[0] / 25.4 * DPI, paper[1] / 25.4 * DPI), abs=1.5)
    seen = {}
    for s in strips(placed, paper):
        holes = np.array([float(h) * 1000 for h in s.family.leader.holes()])
        expected = holes[(holes >= s.start + 0.5) & (holes <= s.start + s.length - 0.5)]
        # between the rail's middle line and the foot of the crosses
        got = np.array(uprights(pages[s.page], s.centre + 1.2, s.centre + 4.0)) - s.left + s.start
        ends = [float(s.family.pattern(k).length) * 1000 for k in s.family.kinds]
        seams = [s.start, s.start + OVERLAP, s.start + s.length - OVERLAP, s.start + s.length]
        for place in got:  # nothing else stands upright there but ends and seams
            assert np.abs(np.array([*holes, *ends, *seams, 0]) - place).min() < 0.15
        for place in expected:
            assert np.abs(got - place).min() < 0.1, (name, s.number, place, got)
            seen.setdefault(s.family.name, set()).add(round(place, 3))
    for s in strips(placed, paper):  # the whole rail: every hole stands on some strip
        assert len(seen[s.family.name]) == s.family.leader.count


def test_the_bars_prove_the_scale(examples, tmp_path):
    pixel_map = mapping(examples / "kelder-studio" / "house.toml")
    paper = PAPERS["a4"]
    file = tmp_path / "template.pdf"
    pdf(template(rails(pixel_map.site.line_layouts), paper, "m", None, "x"), file, "t")
    page = next(rasterise(file, DPI))
    y = paper[0] - MARGIN - 6
    ticks = uprights(page, y + 0.6, y + 2.6)
    assert len(ticks) == 4
    assert ticks[1] - ticks[0] == pytest.approx(BAR_IN, abs=0.05)
    assert ticks[3] - ticks[2] == pytest.approx(BAR_MM, abs=0.05)
    assert b"/PrintScaling /None" in file.read_bytes()


def test_strips_cover_the_rail_and_overlap(examples):
    pixel_map = mapping(examples / "marlow-bend" / "house.toml")
    for paper in PAPERS.values():
        mine = {}
        for s in strips(rails(pixel_map.site.line_layouts), paper):
            mine.setdefault(s.family.name, []).append(s)
            assert s.left >= MARGIN and s.left + s.length <= paper[1] - MARGIN + 1e-9
            assert s.centre + 12 < paper[0] - MARGIN - 12
        for parts in mine.values():
            assert parts[0].start == 0
            for a, b in itertools.pairwise(parts):
                assert a.start + a.length - b.start == pytest.approx(OVERLAP)
            end = parts[-1].start + parts[-1].length
            assert end == pytest.approx(float(parts[0].family.leader.length) * 1000)
