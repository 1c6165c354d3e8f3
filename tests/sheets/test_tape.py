"""What a tape shows: rounding and drift against recomputed tables."""

import csv
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.core.lengths import feet_inches, show_length
from lumenmap.core.units import INCH, length
from lumenmap.sheets.rails.tape import division, inches, nearest, stepped

TABLE = Path(__file__).parents[1] / "tables" / "tape_rounding.csv"
ROWS = list(csv.DictReader(TABLE.read_text().splitlines()[1:]))
PITCH = Fraction(24, 10) * INCH


@pytest.mark.parametrize("row", ROWS, ids=lambda r: f"1/{r['parts']}")
def test_rounding_and_drift_of_2_4_inches(row):
    """Tape rounding of 2.4 in, worst error from a datum, and drift by stepping 49 times [K]."""
    parts = int(row["parts"])
    mark = nearest(PITCH, INCH / parts)
    assert inches(mark.mark, parts) == row["rounds_to"]
    assert float(mark.error / INCH) == pytest.approx(float(row["error"]))
    worst = max(abs(nearest(k * PITCH, INCH / parts).error) for k in range(50))
    assert float(worst / INCH) == pytest.approx(float(row["worst"]))
    assert float(stepped(Fraction(0), PITCH, 49, INCH / parts) / INCH) == pytest.approx(
        float(row["drift"])
    )


@given(st.fractions(0, 500), st.sampled_from([16, 32, 64]))
def test_a_mark_is_never_off_by_more_than_half_a_division(place, parts):
    """Largest error is half a division (error propagation [K])."""
    got = nearest(place * INCH, INCH / parts)
    assert abs(got.error) <= INCH / parts / 2
    assert (got.mark / INCH * parts).denominator == 1
    assert got.mark - got.error == place * INCH


@pytest.mark.parametrize(
    ("first", "spacing", "tape"),
    [("37.5 mm", "75 mm", "1 mm"), ("1 1/32 in", "2 1/16 in", "1/16 in")],
)
def test_holes_half_way_between_two_marks_stay_evenly_apart(first, spacing, tape):
    """Python rounds halves to even: 38, 112, 188, 262 mm were 74 and 76 mm apart in turn."""
    marks = [nearest(length(first) + k * length(spacing), division(tape)).mark for k in range(26)]
    assert {b - a for a, b in pairwise(marks)} == {length(spacing)}


@given(st.integers(0, 900), st.integers(0, 11), st.integers(0, 15))
def test_feet_and_inches_come_back_as_they_were_written(feet, whole, sixteenths):
    text = f"{feet} ft {whole} {sixteenths}/16 in" if sixteenths else f"{feet} ft {whole} in"
    metres = length(text)
    assert metres == (feet * 12 + whole + Fraction(sixteenths, 16)) * INCH
    assert length(feet_inches(metres)) == metres
    assert length(show_length(metres, "ft")) == metres


@given(st.integers(0, 400_000))
def test_millimetres_come_back_as_they_were_written(mm):
    metres = length(f"{mm} mm")
    assert length(show_length(metres, "m")) == metres == Fraction(mm, 1000)
