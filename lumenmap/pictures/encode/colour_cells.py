"""Colours as integers: 8-bit colours packed into 32 bits, and cells of nearly equal colours.

Strategy: colours are looked up, never computed twice. The eye tells dark codes apart better than
bright ones, so cells are one code wide below 64 and three above: 128 per channel.
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
_LEVEL = np.where(_CODE < 64, _CODE, 64 + (_CODE - 64) // 3).astype(np.uint32)
_LINEAR = to_linear(_CODE / 255)
_MIDDLE = np.array([_CODE[n == _LEVEL].mean() for n in range(128)])


def packed(frame: Frame) -> Packed:
    """Return an (H, W, 3) frame as (H, W) integers, red in the low byte.

    A frame that is a view of four bytes per pixel is read in place.
    """
    height, width = frame.shape[:2]
    if frame.dtype == np.uint8 and frame.strides == (4 * width, 4, 1):
        whole: Packed = np.lib.stride_tricks.as_strided(
            frame, (height, width, 4), (4 * width, 4, 1), writeable=False
        ).view("<u4")[..., 0]
        return whole
    four = np.zeros((height, width, 4), np.uint8)
    four[..., :3] = frame
    made: Packed = four.view("<u4")[..., 0]
    return made


def cell(colours: Packed) -> Packed:
    """Return the cell of each packed colour."""
    found: Packed = (
        (_LEVEL[colours & 255] << 14)
        | (_LEVEL[(colours >> 8) & 255] << 7)
        | _LEVEL[(colours >> 16) & 255]
    )
    return found


def cell_lab(cells: Packed) -> NDArray[np.float32]:
    """Return (K, 3) OKLab of the centres of cells."""
    rgb = np.stack([cells >> 14, (cells >> 7) & 127, cells & 127], axis=-1)
    return np.asarray(from_linear(to_linear(_MIDDLE[rgb] / 255)), np.float32)


def lab(colours: Packed) -> NDArray[np.float32]:
    """Return (K, 3) OKLab of packed colours."""
    rgb = np.stack([colours & 255, (colours >> 8) & 255, (colours >> 16) & 255], axis=-1)
    return np.asarray(from_linear(_LINEAR[rgb]), np.float32)
