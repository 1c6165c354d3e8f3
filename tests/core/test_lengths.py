"""Lengths as people read them: the digits that they can use, and what they wrote as they wrote it."""

from fractions import Fraction

import pytest

from lumenmap.core.lengths import show_about, show_fine, show_length, show_written
from lumenmap.core.units import length


@pytest.mark.parametrize(
    ("wrote", "unit", "shown"),
    [
        # 1 in is 25.4 mm (NIST SP 811, B.8): 6 in was told as 0.152 m.
        ("6 in", "m", "6 in"),
        ("1 1/2 in", "cm", "1 1/2 in"),
        ("60 mm", "ft", "60 mm"),
        ("2.5 m", "ft", "2.5 m"),
        ("2 3/8 in", "ft", "2 3/8 in"),
        ("0.15 m", "m", "0.15 m"),
        ("72 mm", "cm", "7.2 cm"),
        # Whole in both: the house's own.
        ("12 ft 6 in", "m", "3.81 m"),
        ("12 ft 6 in", "ft", "12 ft 6 in"),
        # Whole in neither.
        ("0.9 ft", "ft", "10 13/16 in"),
        ("2.94171 m", "m", "2.942 m"),
    ],
)
def test_a_length_is_told_as_it_was_written(wrote, unit, shown):
    exact = length(wrote, "m")
    assert show_written(exact, unit) == show_written(float(exact), unit) == shown


@pytest.mark.parametrize(
    ("wrote", "unit", "shown"),
    [
        ("60 mm", "m", "60 mm"),
        ("59.794 mm", "m", "59.8 mm"),
        ("4 in", "ft", "4 in"),
        ("3.937 in", "ft", "3.94 in"),
        ("60 mm", "ft", "60 mm"),
        ("1 1/2 in", "m", "1.5 in"),
        ("0.3 m", "m", "300 mm"),
    ],
)
def test_spacings_have_no_zeros_and_no_digits_beyond_a_rule(wrote, unit, shown):
    assert show_fine(length(wrote), unit) == shown


def test_a_place_to_look_for_is_told_to_the_inch_or_centimetre():
    assert show_about(length("54 ft 2 5/8 in"), "ft") == "54 ft 3 in"
    assert show_about(14.4083, "m") == "14.41 m"
    assert show_about(0.003, "ft") == "0 in"


@pytest.mark.parametrize(
    ("metres", "unit", "shown"),
    [(12.3457, "mm", "12346 mm"), (12.3457, "cm", "1234.6 cm"), (0.0018, "mm", "1.8 mm")],
)
def test_long_lengths_in_small_units_are_whole_numbers(metres, unit, shown):
    assert show_length(Fraction(metres), unit) == shown


def test_half_an_inch_is_the_same_inch_wherever_it_is_read():
    """9 ft 10 1/2 in, of a roof of 3/12 6 in from its end at 10 ft, was 9 ft 10 and 9 ft 11 in."""
    exact = 3.0099
    for bits in (-4e-9, -1e-12, 0.0, 1e-12, 4e-9):
        assert show_about(exact + bits, "ft") == "9 ft 11 in"
        assert show_about(3.005 + bits, "m") == "3.01 m"
