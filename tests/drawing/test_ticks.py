"""Ticks are round numbers inside the axis, neither too many nor too few."""

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.drawing.ticks import round_step, ticks

#: Axes of people: feet, seconds, volts.
numbers = st.floats(-1e4, 1e4)


@given(least=st.floats(1e-9, 1e9))
def test_a_step_is_1_2_or_5_times_a_power_of_ten_and_no_more_than_needed(least):
    step = round_step(least)
    digit = step / 10 ** math.floor(math.log10(step) + 1e-9)
    assert any(digit == pytest.approx(d) for d in (1, 2, 5, 10))
    assert least * (1 - 1e-8) <= step < 2.5 * least * (1 + 1e-8)


@given(low=numbers, span=st.floats(0.1, 1e6), most=st.integers(3, 12))
def test_ticks_are_even_multiples_of_a_round_step_as_many_as_asked_for(low, span, most):
    got = ticks(low, low + span, most)
    room = 1e-9 * span + 1e-9 * abs(low)
    assert 1 <= len(got) <= most
    assert all(low - room <= t <= low + span + room for t in got)
    if len(got) > 1:
        step = round_step((got[1] - got[0]) * (1 - 1e-6))
        assert all(b - a == pytest.approx(step, rel=1e-6) for a, b in itertools.pairwise(got))
        assert all(t / step == pytest.approx(round(t / step), abs=1e-5) for t in got)
        # No room is left for one more at either end, and a finer step would be too many.
        assert got[0] - step < low + room and got[-1] + step > low + span - room
        finer = round_step(step / 2.6)
        assert math.floor((low + span) / finer) - math.ceil(low / finer) + 1 >= most


@pytest.mark.parametrize(
    ("axis", "expected"),
    [
        ((0, 1, 6), [0, 0.2, 0.4, 0.6, 0.8, 1.0]),
        ((0, 73.5, 11), [0, 10, 20, 30, 40, 50, 60, 70]),
        ((8.2, 12.2, 8), [8.5, 9, 9.5, 10, 10.5, 11, 11.5, 12]),
        ((-3, 3, 4), [-2, 0, 2]),
        ((0, 11, 6), [0, 2, 4, 6, 8, 10]),
        ((5, 5, 6), [5]),
    ],
)
def test_axes_by_hand(axis, expected):
    assert ticks(*axis) == expected  # exactly: 3 times 0.2 is 0.6
