"""Lengths, speeds, slopes and times as people write them."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.core import units as u
from lumenmap.core.errors import InputError
from lumenmap.core.lengths import feet_inches
from lumenmap.house.reading.slopes import read_slope


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        # NIST SP 811 (2008) appendix B.8: 1 ft = 0.3048 m, 1 in = 0.0254 m, 1 yd = 0.9144 m, exact
        ("1 ft", Fraction(3048, 10000)),
        ("1 in", Fraction(254, 10000)),
        ("1 yd", Fraction(9144, 10000)),
        ("12 ft 6 in", Fraction(381, 100)),
        ("12' 6\"", Fraction(381, 100)),
        ("2 3/8 in", Fraction(19, 8) * u.INCH),
        ("3/4 in", Fraction(3, 4) * u.INCH),
        ("2.4 in", Fraction(12, 5) * u.INCH),
        ("-1.5 m", Fraction(-3, 2)),
        ("15 cm", Fraction(15, 100)),
        ("8 feet", 8 * 12 * u.INCH),
    ],
)
def test_lengths_are_exact(text, metres):
    assert u.length(text) == metres


def test_a_bare_number_takes_the_files_unit_and_its_decimal_meaning():
    assert u.length(2.4, "in") == Fraction(12, 5) * u.INCH
    assert u.length(9, "ft") == 9 * 12 * u.INCH


@given(st.integers(0, 200), st.integers(0, 11), st.integers(0, 15))
def test_feet_and_inches_go_out_as_they_came_in(feet, inches, sixteenths):
    metres = (12 * feet + inches + Fraction(sixteenths, 16)) * u.INCH
    assert u.length(feet_inches(metres)) == metres


@pytest.mark.parametrize(
    ("sixteenths", "text"),
    [(0.4, "0 in"), (0.6, "1/16 in"), (-0.6, "-1/16 in"), (-0.4, "0 in"), (191.6, "1 ft")],
)
def test_a_tape_shows_the_nearest_mark(sixteenths, text):
    assert feet_inches(Fraction(sixteenths) / 16 * u.INCH) == text


@given(st.decimals(-9999, 9999, places=3), st.sampled_from(sorted(u.LENGTH)))
def test_a_length_divided_by_its_unit_is_the_number_that_was_written(number, unit):
    assert u.length(f"{number} {unit}") / u.LENGTH[unit] == Fraction(number)


@pytest.mark.parametrize(
    ("read", "value", "says"),
    [
        (u.length, "3 furlong", 'no unit "furlong"'),
        (u.length, "5 mn", 'did you mean "m'),
        (u.length, "abc", "expected a quantity such as"),
        (u.length, "", "expected a quantity such as"),
        (u.length, "3 ft 4", "expected a quantity such as"),
        (
            u.length,
            "27 m 6 in",
            'length mixes metres with feet or inches in "27 m 6 in"; write one of them',
        ),
        (u.length, "3 ft 20 cm", "mixes metres with feet or inches in"),
        (u.speed, "1 m 2 in/s", "mixes metres with feet or inches in"),
        (u.length, "1 2 m", "expected a quantity such as"),
        (u.length, "1 ft x", "expected a quantity such as"),
        (u.length, "--3 m", "expected a quantity such as"),
        (u.length, "3 1/0 in", "divides by zero"),
        (u.length, float("nan"), "finite"),
        (u.length, float("inf"), "finite"),
        (u.length, True, "expected a number or a string such as"),
        (u.length, None, "expected a number or a string such as"),
        (u.length, "1e999 m", "no house is that large"),
        (u.length, "1e99999999 m", "expected a quantity such as"),
        (u.length, "9" * 500, "expected a quantity such as"),
        (read_slope, 8, 'write "8/12"'),
        (read_slope, "8/0", "expected a slope such as"),
        (read_slope, "99/12", "expected 0 to 60/12"),
        (read_slope, "steep", "expected a slope such as"),
        (u.speed, "fast", 'is "fast"; expected a speed such as "4 ft/s"'),
        (u.speed, "4 mph", 'is "4 mph"; expected a speed such as "4 ft/s"'),
        (u.speed, "4 ft", 'is "4 ft"; expected a speed such as "4 ft/s"'),
        (u.speed, "/s", "expected a speed such as"),
        (u.length, "5,45 m", 'is "5,45 m"; write "5.45 m", with a decimal point'),
        (read_slope, "90 deg", "expected"),
        (read_slope, "80 deg", "expected"),
        (read_slope, "-1 deg", "expected"),
        (read_slope, "501 %", "expected"),
        (u.speed, "4 fet/s", 'no unit "fet"; did you mean "ft"'),
        (u.share, "80", 'is "80"; expected 0 to 1, or "0 %" to "100 %"; did you mean "80 %"'),
        (u.share, 1.5, "expected 0 to 1"),
        (u.share, 150, "is 150; expected 0 to 1"),
        (u.share, "150 %", "expected 0 to 1"),
        (u.share, -0.1, "expected 0 to 1"),
        (u.share, float("nan"), "is nan; expected 0 to 1"),
        (u.share, "most", "expected 0 to 1"),
        (u.share, True, "expected 0 to 1"),
        (u.speed, "4 ft/fortnight", "expected a speed such as .*per s, ms, min, h"),
        (u.duration, "3 ft", 'no unit "ft"'),
    ],
)
def test_wrong_quantities_say_what_is_expected(read, value, says):
    with pytest.raises(InputError, match=says):
        read(value)


def test_slopes_in_their_three_spellings():
    assert read_slope("8/12") == pytest.approx(2 / 3)
    # atan(8 / 12) is 33.69 degrees [K]
    assert math.degrees(math.atan(read_slope("33.69 deg"))) == pytest.approx(33.69)
    assert read_slope("50 %") == pytest.approx(0.5)
    assert read_slope("79 deg") == pytest.approx(math.tan(math.radians(79)))
    assert read_slope("8/12") == read_slope("8 in 12") == read_slope("8:12")


def test_angles():
    assert u.angle(90) == u.angle("90 deg") == u.angle("1/4 turn") == pytest.approx(math.pi / 2)
    assert u.angle("-0.5 turn") == pytest.approx(-math.pi)


def test_shares():
    assert u.share(1) == 1.0
    assert u.share("0.25") == 0.25
    assert u.share("80 %") == u.share("80%") == 0.8


def test_speeds_and_times():
    assert u.speed("1/2", "ft") == 6 * u.INCH
    assert u.speed("1/2 ft/s") == 6 * u.INCH
    assert u.speed("-2 ft 6 in / min") == -30 * u.INCH / 60
    assert u.speed("4 ft/s") == 4 * 12 * u.INCH
    assert u.speed("6 m/min") == Fraction(1, 10)
    assert u.speed(2, "ft") == 24 * u.INCH
    assert u.duration("1 min 30 s") == 90
    assert u.duration("250 ms") == Fraction(1, 4)
    assert u.plain("55.5 mA", "mA", what="x") == pytest.approx(55.5)
    assert u.plain("7.5 A", "A", what="fuse") == 7.5
