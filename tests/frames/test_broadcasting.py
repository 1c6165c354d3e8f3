"""Rows that are broadcast without numpy's copies: the same numbers, and no trace afterwards."""

import numpy as np
import pytest
from numpy.testing import assert_array_equal

from lumenmap.frames.broadcasting import quick_rows


def test_the_same_numbers_and_the_old_size_again_after_a_fault_too():
    row, column = np.random.default_rng(1).random((2, 700))
    before = np.getbufsize()
    plain = row * column[:90, None] + column
    with quick_rows():
        assert np.getbufsize() < before
        assert_array_equal(row * column[:90, None] + column, plain)
    assert np.getbufsize() == before
    with pytest.raises(KeyError), quick_rows():
        raise KeyError
    assert np.getbufsize() == before
