"""Holes: the fence-post arithmetic, remainders, and exactness."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.core.units import INCH
from lumenmap.house.rails import Rail
from lumenmap.pixels.holes import lay_out_holes, rounded

FEW = {"both", "start", "end", "spread", "trim"}


def rail(spacing, first=None, remainder="both", clear=0, stock=120):
    half = Fraction(spacing) / 2 if first is None else Fraction(first)
    return Rail(
        stock * INCH,
        Fraction(spacing) * INCH,
        half * INCH,
        remainder,
        Fraction(clear) * INCH,
        Fraction(clear) * INCH,
    )


def test_fifty_pixels_in_ten_feet_are_2_4_inches_apart_from_1_2():
    """Half-pitch ends: 120/50 = 2.400 in, first hole at 1.200 in [K]."""
    got = lay_out_holes(120 * INCH, rail(Fraction(120, 50)))
    assert (got.count, got.first / INCH, got.spacing / INCH) == (
        50,
        Fraction(6, 5),
        Fraction(12, 5),
    )
    assert got[49] / INCH == 120 - Fraction(6, 5)


def test_holes_at_both_ends_are_one_more_than_their_gaps():
    """The fence post: 50 posts in 120 in stand 120/49 = 2.449 in apart [K]."""
    got = lay_out_holes(120 * INCH, rail(Fraction(120, 49), first=0))
    assert got.count == 50
    assert round(float(got.spacing / INCH), 3) == 2.449
    assert (got[0], got[49]) == (0, 120 * INCH)


def test_every_fifth_step_of_2_4_inches_is_a_foot():
    got = lay_out_holes(600 * INCH, rail(Fraction(12, 5)))
    assert {(got[k + 5] - got[k]) / INCH for k in range(got.count - 5)} == {12}


def test_a_rake_of_16_77_feet_holds_83():
    """201.25 in at 2.4 in: 83 whole pitches [K]."""
    assert lay_out_holes(Fraction(20125, 100) * INCH, rail(Fraction(12, 5))).count == 83


@pytest.mark.parametrize("remainder", ["both", "start", "end", "trim"])
def test_where_the_remainder_is_left(remainder):
    """103 in hold 34 holes of 3 in, half a spacing from the rail's ends; 1 in is left over."""
    got = lay_out_holes(103 * INCH, rail(3, remainder=remainder))
    assert got.count == 34
    start = {"both": Fraction(1, 2), "start": Fraction(1)}.get(remainder, 0)
    assert got.start / INCH == start
    assert got.stop / INCH == (103 if remainder == "trim" else start + 102)


def test_spreading_fills_the_edge_from_end_to_end():
    got = lay_out_holes(100 * INCH, rail(3, remainder="spread"))
    assert got.count == 33
    assert got.spacing / INCH == Fraction(100, 33)
    assert (got.start, got.stop) == (0, 100 * INCH)


@pytest.mark.parametrize(("inches", "count"), [(100, 33), (101, 34), (98, 33), (1, 1)])
def test_spreading_takes_the_spacing_nearest_to_the_one_asked_for(inches, count):
    """101 in: 34 spaces of 2.97 in are nearer to 3 in than 33 of 3.06 in [K]."""
    got = lay_out_holes(inches * INCH, rail(3, remainder="spread"))
    assert (got.count, got.spacing / INCH) == (count, Fraction(inches, count))


def test_the_last_hole_may_be_as_near_the_end_as_it_would_be_to_a_joint():
    """Rails drilled from 2.5 in, every 3 in: 0.5 in before a joint, so 0.5 in before the end too."""
    got = lay_out_holes(12 * INCH, rail(3, first=Fraction(5, 2)))
    assert (got.count, got[3] / INCH, got.stop / INCH) == (4, Fraction(23, 2), 12)


def test_corners_kept_clear():
    got = lay_out_holes(100 * INCH, rail(3, clear=5))
    assert got.start >= 5 * INCH and got.stop <= 95 * INCH
    assert got.count == 30


@pytest.mark.parametrize("length", [0, 1, 2])
def test_an_edge_too_short_for_a_hole_has_none(length):
    assert lay_out_holes(length * INCH, rail(3)).count == 0


lengths = st.fractions(min_value=0, max_value=600, max_denominator=64)
spacings = st.fractions(min_value=Fraction(1, 4), max_value=24, max_denominator=64)


@given(lengths, spacings, st.sampled_from(sorted(FEW)), st.fractions(0, 1, max_denominator=16))
def test_holes_stay_on_the_edge_at_one_exact_spacing(length, spacing, remainder, part):
    got = lay_out_holes(length * INCH, rail(spacing, first=part * spacing, remainder=remainder))
    if not got.count:
        return
    positions = got.positions()
    assert got.start >= 0 and got.stop <= length * INCH + Fraction(1, 1_000_000)
    assert (positions >= -1e-12).all() and (positions <= float(length * INCH) + 1.1e-6).all()
    assert np.abs(np.diff(positions) - float(got.spacing)).max(initial=0) < 1e-9
    # exact, whatever the floats say: no sum of steps
    assert got[got.count - 1] - got[0] == (got.count - 1) * got.spacing
    if remainder != "spread":
        assert got.spacing == spacing * INCH
        more = got.stop - got.start + spacing * INCH
        assert remainder == "trim" or more > length * INCH - Fraction(1, 1_000_000)


@given(st.floats(0, 500))
def test_a_model_length_is_rounded_to_a_micrometre(metres):
    assert abs(rounded(metres) - Fraction(metres)) <= Fraction(1, 2_000_000)
    assert (rounded(metres) * 1_000_000).denominator == 1
