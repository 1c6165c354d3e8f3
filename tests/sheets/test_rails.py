"""Rails cut from edges: their holes are the pixels, whatever the joints and gaps."""

import itertools
import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.core.errors import InputError
from lumenmap.core.units import INCH
from lumenmap.house.reading.load import load_house
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
    assert two[0].pattern.length == one[0].pattern.length - INCH / 4
    assert {r.pattern.first for r in two} == {r.pattern.first for r in one} == {INCH * 3 / 2}
    assert [r.start for r in one] == [r.start for r in two]


def test_one_spacing_takes_one_drill_sheet(examples):
    """Whatever the gap, the first hole is as far from the datum on a rail behind a joint."""
    house = load_house(examples / "marlow-bend" / "house.toml")
    assert house.rail.gap > 0
    placed = rails(layout_lines(house))
    assert {r.pattern.first for r in placed} == {INCH * 3 / 2}
    assert len(families(placed)) == 1


def test_a_gap_must_leave_rail_behind_the_last_hole(load):
    """The gap comes off the far end, where a hole is the spacing less first_hole before it."""
    spacing = 'hole_spacing = "3 in"'
    wide = load((spacing, spacing + '\nfirst_hole = "1/2 in"\ngap = "2 in"'))
    for r in rails(layout_lines(wide)):
        assert r.pattern.holes()[-1] < r.pattern.length
    with pytest.raises(InputError, match=r"gap of 2 in .* last hole, which is 1 in before"):
        load((spacing, spacing + '\nfirst_hole = "2 in"\ngap = "2 in"'))


@pytest.mark.parametrize(("kerf", "kinds"), [("1/8 in", 1), ("1/32 in", 2)])
def test_rails_that_differ_by_less_than_a_saw_cut_are_one_kind(load, kerf, kinds):
    """Two windows' sills 1/16 in apart in length, trimmed to their edges: cut to the shorter."""
    edges = "".join(
        f'[[edge]]\nname = "{n}"\npoints = [[{x}, -2, 4], ["{x} ft {inches} in", -2, 4]]\n'
        for n, x, inches in (("a", 0, "30"), ("b", 5, "30 1/16"))
    )
    house = load(
        ('"main/rake-left", "main/rake-right"', '"a", { jumper = "3 ft" }, "b"'),
        ('hole_spacing = "3 in"', f'hole_spacing = "3 in"\nremainder = "trim"\nkerf = "{kerf}"'),
        add=edges,
    )
    placed = rails(layout_lines(house))
    assert len({r.kind for r in placed}) == kinds
    assert float(placed[0].pattern.length / INCH) == pytest.approx(30, abs=1e-4)
    holes = {tuple(r.pattern.holes()) for r in placed}
    assert len(holes) == 1 and all(h[-1] < r.pattern.length for h in holes for r in placed)


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


def test_letters_never_run_out_and_are_no_mark_of_a_wire():
    """Wires are F1, T1, B1 and D1 on the same sheets."""
    names = [letter(i) for i in range(20 + 20 * 20 + 1)]
    assert names[:3] == ["A", "C", "E"]
    assert [names[i] for i in (19, 20, 21, 39, 40, 419, 420)] == [
        "Z",
        "AA",
        "AC",
        "AZ",
        "CA",
        "ZZ",
        "AAA",
    ]
    assert len(set(names)) == len(names)
    assert not set("BDFTIO") & set("".join(names))


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
    bound = fewest(made(lengths), 96 * INCH, saw)
    assert bound <= len(bars)
    if not kerf:
        best = optimum(lengths, 96)
        assert math.ceil(sum(lengths) / 96) <= bound <= best
        assert len(bars) <= 11 / 9 * best + 1


@pytest.mark.parametrize(
    ("lengths", "bound"),
    [
        ([60, 60, 60], 3),  # two don't fit in one bar, though 180 in would fit in two
        ([50, 50, 40, 40, 40], 3),  # 220 in; a bar holds 50 and 40, so one 40 is left over
        ([96], 1),
    ],
)
def test_the_bound_knows_what_cannot_share_a_bar(lengths, bound):
    """By hand; the sum of lengths alone would say 2, 3 and 1."""
    assert fewest(made(lengths), 96 * INCH, Fraction(0)) == bound


def test_a_known_best_cut():
    """Five pieces that fill two bars exactly: 60 + 36, and 50 + 30 + 16."""
    bars = cut(made([16, 30, 36, 50, 60]), 96 * INCH, Fraction(0))
    assert len(bars) == 2 and all(b.left == 0 for b in bars)
    assert np.isclose(float(sum(b.used for b in bars) / INCH), 192)
