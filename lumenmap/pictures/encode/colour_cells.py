"""Colours as integers: 8-bit colours packed into 32 bits, and cells of nearly equal colours.

Strategy: colours are looked up, never computed twice. The eye tells dark codes apart better than
bright ones, so cells are one code wide below 64 and three above: 128 per channel. The bits of the
three channels take turns in a cell's number (Morton 1966), so that tables hold similar colours next
to each other: a picture's then lie in few pages of memory.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour.oklab import from_linear
from lumenmap.colour.transfer import to_linear

Frame = NDArray[np.uint8]
Packed = NDArray[np.uint32]

#: Number of cells.
CELLS = 1 << 21
_CODE = np.arange(256)
_LEVEL = np.where(_CODE < 64, _CODE, 64 + (_CODE - 64) // 3)
_LINEAR = to_linear(_CODE / 255)
#: (256,): linear light in the middle of each code's cell.
MIDDLE = to_linear(np.array([_CODE[n == _LEVEL].mean() for n in _LEVEL]) / 255)
#: (3, 256): what the codes of red, green and blue each contribute to the number of a cell.
SPREAD: Packed = np.stack(
    [sum(((_LEVEL >> bit) & 1) << (3 * bit + k) for bit in range(7)) for k in (2, 1, 0)]
).astype(np.uint32)


def packed(frames: Frame) -> Packed:
    """Return (…, H, W, 3) frames as (…, H, W) integers, red in the low byte.

    Frames that are a view of four bytes per pixel are read in place.
    """
    shape = frames.shape[:-1]
    steps = [4]  # from a pixel, row, frame to the next, in bytes
    for size in shape[:0:-1]:
        steps.insert(0, steps[0] * size)
    if frames.dtype == np.uint8 and frames.strides == (*steps, 1):
        same: Packed = np.lib.stride_tricks.as_strided(
            frames, (*shape, 4), (*steps, 1), writeable=False
        ).view("<u4")[..., 0]
        return same
    four = np.zeros((*shape, 4), np.uint8)
    four[..., :3] = frames
    made: Packed = four.view("<u4")[..., 0]
    return made


def cell(colours: Packed) -> NDArray[np.int32]:
    """Return the cell of each packed colour."""
    found = SPREAD[0].take(colours & 255)
    found |= SPREAD[1].take((colours >> 8) & 255)
    found |= SPREAD[2].take((colours >> 16) & 255)
    cells: NDArray[np.int32] = found.view(np.int32)
    return cells


def lab(colours: Packed) -> NDArray[np.float32]:
    """Return (K, 3) OKLab of packed colours."""
    rgb = np.stack([colours & 255, (colours >> 8) & 255, (colours >> 16) & 255], axis=-1)
    return np.asarray(from_linear(_LINEAR[rgb]), np.float32)
