"""Times to beats and back."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.core.errors import InputError
from lumenmap.motion.beats import Beats

STEPS = st.lists(st.floats(0.1, 3.0), min_size=1, max_size=30)


@given(STEPS, st.floats(0, 5), st.floats(-60, 120))
def test_back_and_forth(steps, first, count):
    times = first + np.concatenate([[0.0], np.cumsum(steps)])
    beats = Beats(times, np.arange(len(times)) % 4 + 1)
    assert float(beats.count(beats.moment(count))) == pytest.approx(count, abs=1e-9)
    assert beats.moment(np.arange(len(times))) == pytest.approx(times)
    assert beats.even(times) == pytest.approx(np.arange(len(times)) * beats.beat)


@given(STEPS, st.lists(st.floats(-50, 150), min_size=2, max_size=20))
def test_time_only_goes_on(steps, moments):
    beats = Beats(np.concatenate([[1.0], 1 + np.cumsum(steps)]), np.ones(len(steps) + 1, int))
    assert (np.diff(beats.count(np.sort(moments))) >= 0).all()


def test_the_usual_length_is_that_of_most_beats_and_holds_outside():
    beats = Beats(np.array([1.0, 1.5, 2.0, 6.0, 6.5]), np.array([1, 2, 3, 4, 1]))
    assert beats.beat == 0.5
    assert beats.count(np.array([0.0, 4.0, 7.5])).tolist() == [-2, 2.5, 6]
    assert beats.moment(np.array([-2.0, 2.5, 6.0])).tolist() == [0, 4, 7.5]


def test_bars_begin_where_a_place_is_one():
    beats = Beats(np.arange(7.0), np.array([3, 1, 2, 3, 1, 2, 1]))
    assert [beats.bar(n) for n in (1, 2, 3)] == [1, 4, 6]
    for number in (0, 4):
        with pytest.raises(InputError, match=f"no bar {number}; the beats found make 3 bars"):
            beats.bar(number)
