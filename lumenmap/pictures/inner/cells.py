"""`CellTable`: what is known of cells of similar colours, as arrays that any loop can read."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

F32 = NDArray[np.float32]
F64 = NDArray[np.float64]
U8 = NDArray[np.uint8]
Packed = NDArray[np.uint32]
#: Left, top, width, height.
Box = Sequence[int] | NDArray[np.int32]
#: The second nearest colour of a cell for which it hasn't been worked out: no palette has so many.
UNKNOWN = 255


class CellTable(NamedTuple):
    """Cells of similar colours, of which C can be told apart, and the nearest of K ≤ 255 colours.

    Attributes
    ----------
    spread
        (3, 256): what the codes of red, green and blue each contribute to a cell's number.
    middle
        (256,): linear light in the middle of each code's cell.
    to_lms, to_lab
        (3, 3) each: from linear sRGB to cone responses, and from their cube roots to OKLab.
    colours
        (3, K): the palette in OKLab, by coordinates.
    palette
        (256, 4): the same by colours, of four values each, so that they are fetched as one.
    slack, slack_alone
        (K,): how much farther than the nearest an old colour may be, and one of a single pixel
        (OKLab).
    places
        (C, 4): each cell's place in OKLab, and the squared distance up to which an old colour is
        kept; all zeros for a cell that hasn't been worked out.
    alone
        (C,): the squared distance up to which a single pixel keeps it.
    near
        (C,): index of the nearest colour.
    second, share
        (C,): index of the second nearest, `UNKNOWN` if it hasn't been worked out, and its share of
        a mixture of both in 1/255.
    """

    spread: Packed
    middle: F64
    to_lms: F64
    to_lab: F64
    colours: F32
    palette: F32
    slack: F32
    slack_alone: F32
    places: F32
    alone: F32
    near: U8
    second: U8
    share: U8


class Mixing(NamedTuple):
    """Which two colours are mixed by a pattern: those farther apart than ``shows`` (OKLab).

    And from the share ``solid`` of their distance on.
    """

    shows: float
    solid: float


class Moved(NamedTuple):
    """What changed from frame to frame.

    Attributes
    ----------
    changes
        (T, H, W): new indices where they changed, and the one for "the same" elsewhere.
    boxes
        (T, 4): left, top, width and height of what changed; zeros where nothing did.
    """

    changes: U8
    boxes: NDArray[np.int32]
