"""Rails cut from edges: their holes are the pixels, whatever the joints and gaps."""

import itertools
import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.core.units import INCH
from lumenmap.house.load import load_house
from lumenmap.pixels.build import layout_lines, map_pixels
from lumenmap.sheets.rails.families import families
from lumenmap.sheets.rails.rails import SHORTEST, Pattern, PlacedRail, letter, rails
from lumenmap.sheets.rails.stock import cut, fewest

EXAMPLES = ["alder-cottage", "kelder-studio", "marlow-bend", "tannery-row"]


@pytest.mark.parametrize("name", EXAMPLES)
def test_the_holes_of_all_rails_are_the_lit_pixels(examples, name):
    """Each rail's place plus each hole from its datum is one pixel of the map, and none is left."""
    house = load_house(examples / name / "house.toml")
    pixels = map_pixels(house)
    placed = rails(layout_lines(house))
    drilled = {(r.edge, round(float(r.start + h), 9)) for r in placed for h in r.pattern.holes()}
    on = pixels.edge >= 0
    mapped = {
        (pixels.edge_names[e], round(float(a), 9))
        for e, a in zip(pixels.edge[on], pixels.along_edge[on], strict=True)
    }
    assert drilled == mapped
    assert sum(r.pattern.count for r in placed) == on.sum()
    numbers = {(s.name, s.first): s for s in pixels.lines}
    for r in placed:  # the numbers written on each rail are those of the map
        span = next(s for s in numbers.values() if s.name == r.line)
        at = span.first + r.first - 1
        assert pixels.edge_names[pixels.edge[at]] == r.edge
        assert pixels.along_edge[at] == pytest.approx(float(r.start + r.pattern.first), abs=1e-9)


@pytest.mark.parametrize("name", EXAMPLES)
def test_rails_fit_the_stock_the_edge_and_each_other(examples, name):
    house = load_house(examples / name / "house.toml")
    line_layouts = layout_lines(house)
    placed = rails(line_layouts)
    for r in placed:
        pixel_map = line_layouts[0].edge_layouts[r.edge]
        assert r.pattern.length <= house.rail.length
        assert (
            r.start >= -1e-6 and float(r.start + r.pattern.length) <= float(pixel_map.length) + 2e-6
        )
        holes = r.pattern.holes()
        assert holes[0] >= 0 and holes[-1] <= r.pattern.length
        assert len({b - a for a, b in itertools.pairwise(holes)}) <= 1
    for a, b in itertools.pairwise(placed):
        joint = b.start - a.start - a.pattern.length
        if a.edge == b.edge and joint < a.pattern.spacing / 2:
            assert joint >= house.rail.gap
            if joint == house.rail.gap:  # a joint, not a corner: the spacing runs on, exactly
                across = b.start + b.pattern.first - a.start - a.pattern.holes()[-1]
                assert across == a.pattern.spacing


def test_a_gap_shortens_the_rails_and_moves_no_hole(load):
    plain = load()
    gapped = load(('hole_spacing = "3 in"', 'hole_spacing = "3 in"\ngap = "1/4 in"'))
    assert (map_pixels(plain).xyz == map_pixels(gapped).xyz).all()
    one, two = rails(layout_lines(plain)), rails(layout_lines(gapped))
    assert [r.pattern.count for r in one] == [r.pattern.count for r in two]
    assert two[0].pattern.length == one[0].pattern.length - INCH / 8
    assert two[1].pattern.first == one[1].pattern.first - INCH / 8


def test_the_gap_is_what_the_material_grows_by(load):
    """10 ft of conduit hung at 35 F and 95 F at most, in shade: 0.243 in (table 352.44(A) [P]; [K])."""
    house = load(
        ('"8 ft"', '"10 ft"'),
        (
            'hole_spacing = "3 in"',
            """hole_spacing = "3 in"
material = "pvc conduit"
coldest = 0
warmest = 95
fitted_at = 35
in_sun = false""",
        ),
    )
    assert float(house.rail.gap / INCH) == pytest.approx(0.243, abs=0.005)


def test_no_rail_is_too_short_for_two_clips(load):
    """33 ft 1 in of eave on 8 ft rails would leave 1 in: the last two share instead."""
    house = load(
        ("depth = 30", "depth = 31"), ('"main/rake-left", "main/rake-right"', '"main/eave-left"')
    )
    placed = rails(layout_lines(house))
    assert min(r.pattern.length for r in placed) >= SHORTEST
    assert sum(r.pattern.count for r in placed) == 132


def test_letters_never_run_out():
    assert [letter(i) for i in (0, 25, 26, 27, 51, 52, 701, 702)] == [
        "A",
        "Z",
        "AA",
        "AB",
        "AZ",
        "BA",
        "ZZ",
        "AAA",
    ]


def test_rails_that_drill_alike_are_one_family(examples):
    house = load_house(examples / "alder-cottage" / "house.toml")
    (family,) = families(rails(layout_lines(house)))
    lengths = [family.pattern(k).length for k in family.kinds]
    assert lengths == sorted(lengths, reverse=True)
    leader = family.leader.holes()
    for kind in family.kinds:
        p = family.pattern(kind)
        assert p.holes() == leader[: p.count]


def made(lengths):
    return [
        PlacedRail(i + 1, "A", Pattern(n * INCH, INCH, INCH, 1), "e", Fraction(0), "l", 1, 1)
        for i, n in enumerate(lengths)
    ]


def optimum(lengths, stock):
    """The fewest bars that hold the lengths, by trying every set of them."""
    best = {0: (1, 0)}  # pieces used: (bars, how full the last one is)
    for used in range(1, 1 << len(lengths)):
        ways = []
        for i, n in enumerate(lengths):
            if used >> i & 1:
                bars, full = best[used & ~(1 << i)]
                ways.append((bars, full + n) if full + n <= stock else (bars + 1, n))
        best[used] = min(ways)
    return best[(1 << len(lengths)) - 1][0]


@given(st.lists(st.integers(1, 96), min_size=1, max_size=8), st.sampled_from([0, 1]))
def test_stock_holds_what_is_cut_from_it(lengths, kerf):
    """Best fit decreasing: at most 11/9 of the fewest, and one (Johnson and others, 1974 [M])."""
    saw = kerf * INCH / 8
    bars = cut(made(lengths), 96 * INCH, saw)
    assert sorted(r.number for b in bars for r in b.rails) == list(range(1, len(lengths) + 1))
    for b in bars:
        total = sum(r.pattern.length for r in b.rails) + (len(b.rails) - 1) * saw
        assert total <= 96 * INCH
        assert b.left >= 0 and b.used + b.left == 96 * INCH
    assert fewest(made(lengths), 96 * INCH) == math.ceil(sum(lengths) / 96) <= len(bars)
    if not kerf:
        assert len(bars) <= 11 / 9 * optimum(lengths, 96) + 1


def test_a_known_best_cut():
    """Five pieces that fill two bars exactly: 60 + 36, and 50 + 30 + 16."""
    bars = cut(made([16, 30, 36, 50, 60]), 96 * INCH, Fraction(0))
    assert len(bars) == 2 and all(b.left == 0 for b in bars)
    assert np.isclose(float(sum(b.used for b in bars) / INCH), 192)
