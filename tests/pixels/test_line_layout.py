"""The layout of a line: the wire round corners counts, and a gap needs a jumper."""

import numpy as np
import pytest

from lumenmap.core.errors import InputError
from lumenmap.pixels.build import map_pixels

FOOT = 0.3048
EDGES = """
[[edge]]
name = "one"
points = [[0, -9, 8], [10, -9, 8]]
[[edge]]
name = "two"
points = [[{far}, -9, 8], [{stop}, -9, 8]]
"""


@pytest.fixture
def two_edges(load):
    """A line along two edges of 10 ft, some feet apart, 40 holes each."""

    def made(gap, path='"one", "two"'):
        old = '"main/rake-left", "main/rake-right"'
        return map_pixels(load((old, path), add=EDGES.format(far=10 + gap, stop=20 + gap)))

    return made


def test_a_gap_of_three_feet_needs_a_jumper(two_edges):
    with pytest.raises(InputError, match=r"gap of 3 ft .*\"one\".*\"two\".*jumper = \"3 ft\""):
        two_edges(3)
    assert len(two_edges(3, '"one", { jumper = "3 ft" }, "two"')) == 80


@pytest.mark.parametrize(("gap", "fits"), [(0.5, True), (1, True), (1.05, False), (2, False)])
def test_a_strings_own_wire_reaches_a_foot_and_no_further(two_edges, gap, fits):
    """305 mm, common practice, no source: it is what goes round a corner without a joint."""
    if fits:
        assert len(two_edges(gap)) == 80
    else:
        with pytest.raises(InputError, match="jumper"):
            two_edges(gap)


def test_a_jumper_reaches_its_own_length_and_the_strings(two_edges):
    assert len(two_edges(3, '"one", { jumper = "2 ft" }, "two"')) == 80
    with pytest.raises(InputError, match="too short"):
        two_edges(3.1, '"one", { jumper = "2 ft" }, "two"')


@pytest.mark.parametrize("gap", [0.0, 0.25, 0.9])
def test_the_wire_round_a_corner_is_counted(two_edges, gap):
    """Two edges of 10 ft and what lies between them: that much wire, and the second's pixels on it."""
    pixels = two_edges(gap)
    assert pixels.lines[0].length == pytest.approx((20 + gap) * FOOT)
    first_of_two = pixels.along_line[40]
    assert first_of_two == pytest.approx((10 + gap + 0.125) * FOOT)
    assert np.diff(pixels.along_line)[39] == pytest.approx((0.25 + gap) * FOOT)


def test_a_run_backwards_counts_its_wire_from_where_it_enters(two_edges):
    pixels = two_edges(0, '"one", { jumper = "10 ft" }, "two reversed"')
    assert pixels.along_edge[40:] == pytest.approx((10 - 0.125 - np.arange(40) / 4) * FOOT)
    assert pixels.along_line[40:] == pytest.approx((20 + 0.125 + np.arange(40) / 4) * FOOT)
    assert pixels.lines[0].length == pytest.approx(30 * FOOT)


def test_part_of_an_edge_takes_its_own_length_of_wire(two_edges):
    """In at 4 ft, out at 7 ft: 3 ft of wire, then 3 ft more to where the next begins."""
    path = '{ edge = "one", start = 4, stop = 7 }, { jumper = "3 ft" }, "two"'
    pixels = two_edges(0, path)
    assert pixels.along_line[:12] == pytest.approx((0.125 + np.arange(12) / 4) * FOOT)
    assert pixels.along_line[12] == pytest.approx((6 + 0.125) * FOOT)
    assert pixels.lines[0].length == pytest.approx(16 * FOOT)


def test_the_last_pixel_may_be_dead_and_the_one_after_it_may_not(two_edges):
    assert not two_edges(0, '"one", "two"]\ndead = [80').lit[79]
    with pytest.raises(InputError, match="81.* 80 pixels"):
        two_edges(0, '"one", "two"]\ndead = [81')
