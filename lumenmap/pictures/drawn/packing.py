"""Arrays one after the other in some bytes, and views of them there: nothing is copied or unpacked.

Each is as in a ``.npy`` file (NumPy enhancement proposal 1 [P]) and starts at a multiple of 64
bytes, as its own numbers then do. Bytes that aren't whole are for the reader to find beforehand.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator
from typing import Any

import numpy as np
from numpy.lib import format as npy
from numpy.typing import NDArray

_START = 64


def packed(arrays: Iterable[NDArray[Any]]) -> bytes:
    """Return arrays of numbers as bytes."""
    out = io.BytesIO()
    for array in arrays:
        out.write(bytes(-out.tell() % _START))
        npy.write_array(out, array, version=(1, 0), allow_pickle=False)
    return out.getvalue()


def unpacked(content: bytes) -> Iterator[NDArray[Any]]:
    """Yield the arrays in bytes, in order, read-only.

    Raises
    ------
    ValueError
        Bytes that `packed` didn't make.
    """
    file = io.BytesIO(content)
    while file.tell() < len(content):
        file.seek(-file.tell() % _START, io.SEEK_CUR)
        if npy.read_magic(file) != (1, 0):
            raise ValueError("another version of the .npy format")
        shape, by_column, kind = npy.read_array_header_1_0(file)
        array = np.frombuffer(content, kind, math.prod(shape), file.tell())
        file.seek(array.nbytes, io.SEEK_CUR)
        yield array.reshape(shape, order="F" if by_column else "C")
