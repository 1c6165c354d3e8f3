"""Steps along a line: what makes one likelier beforehand, and how several are put together."""

import numpy as np
import pytest

from lumenmap.camera.faults.explain import _joined
from lumenmap.camera.faults.steps import MISSED, Step, _likely

#: Pixels are seen on both sides.
BETWEEN = np.array([True])


def test_pixels_that_are_not_seen_at_a_lines_start_tell_nothing():
    """What hides the end of the line before it may hide them too."""
    start, between = _likely(-1, np.array([2, 2]), 0, np.array([False, True]))
    assert between == pytest.approx(start / MISSED)


def test_a_step_is_likelier_where_more_pixels_are_not_seen():
    """One that may be at any of twenty places is as likely as twenty of one place each."""
    one, twenty = _likely(1, np.array([0, 19]), 0, BETWEEN)
    assert twenty == pytest.approx(20 * one)
    # A pixel without a hole is one of those that aren't seen.
    four, twenty = _likely(-1, np.array([4, 20]), 0, BETWEEN)
    assert twenty == pytest.approx(5 * four)


def test_single_pixels_that_are_not_seen_tell_of_a_step():
    """A pixel too many isn't seen, as a rule; a pixel too few leaves the line's last one without a
    hole."""
    none, single = _likely(-1, np.array([0, 1]), 0, BETWEEN)
    assert single > 100 * none
    hidden = np.array([5])
    seen, gone, behind = (_likely(1, hidden, end, BETWEEN)[0] for end in (0, 1, 9))
    assert seen < behind < gone


def test_a_larger_step_is_less_likely():
    hidden = np.array([10])
    one, two, six = (_likely(size, hidden, 9, BETWEEN)[0] for size in (1, 2, 6))
    assert one > two > six


def test_two_steps_in_one_place_are_one_or_none():
    first, second = Step(9.0, 40, -2, 30), Step(8.0, 40, 1, 30)
    other = Step(7.0, 90, 1, 89)
    assert [(s.first, s.size) for s in _joined([first, other], second)] == [(90, 1), (40, -1)]
    assert _joined([second], second._replace(size=-1)) == []
