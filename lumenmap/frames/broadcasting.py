"""Numpy's buffer, set so that arithmetic on rows and columns is quick."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np

#: Numbers that numpy copies into its buffer at once. Its own 8192 make numpy 2.3 and later copy
#: rows (N,) and columns (T, 1) that are broadcast wherever N is less, and a product of the two then
#: takes three times as long. With so few it doesn't, for rows that take time. [K]
_NUMBERS = 256


@contextmanager
def quick_rows() -> Iterator[None]:
    """Let rows be broadcast without copies, in this thread, until the end of the block.

    Elementwise results are the same to the bit.
    """
    before = np.setbufsize(_NUMBERS)
    try:
        yield
    finally:
        np.setbufsize(before)
