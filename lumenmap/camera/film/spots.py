"""Spots of light that blink a number, in the differences of a pass's pictures."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.blinks.blinking import Blinking
from lumenmap.camera.extra import opencv

F = NDArray[np.float64]
F32 = NDArray[np.float32]

#: A spot changes by so many codes at least, and so many times the noise.
LEAST, NOISE = 7.0, 7.0
#: A spot's weakest bit is at least this part of its strongest; else two spots are mixed.
EVEN = 0.35
#: A spot is the brightest within this many pixels each way, and its middle is found within these.
NEAR, MIDDLE = 3, 2
#: A spot of a single frame is so many codes brighter than the mean of so many pixels around it.
BRIGHTER, AROUND = 16.0, 25


@dataclass(frozen=True, slots=True, eq=False)
class Spots:
    """K spots: pixel's ``number`` (K,), ``place`` (K, 2) in the film, ``strength`` (K,) codes."""

    number: NDArray[np.intp]
    place: F
    strength: F

    def __len__(self) -> int:
        return len(self.number)

    @classmethod
    def together(cls, parts: list[Spots]) -> Spots:
        """Return the spots of all passes."""
        none = cls(np.zeros(0, np.intp), np.zeros((0, 2)), np.zeros(0))
        every = [none, *parts]
        return cls(
            np.concatenate([p.number for p in every]),
            np.concatenate([p.place for p in every]),
            np.concatenate([p.strength for p in every]),
        )


def find_spots(differences: F32, turn: int, blinking: Blinking) -> tuple[Spots, F32]:
    """Return the spots of one pass, and how strongly each place blinks (H, W).

    Parameters
    ----------
    differences
        (bits + 1, H, W): each bit's picture less its inverse, codes.
    """
    cv = opencv()
    blinks: F32 = np.sqrt(np.einsum("bij,bij->ij", differences, differences) / len(differences))
    soft = cv.GaussianBlur(blinks, (0, 0), 0.8)
    rows, columns = _tops(soft, LEAST)
    bits = np.stack([_around(d, rows, columns, 1).mean(1) for d in differences], axis=1)
    size = np.abs(bits)
    clear = size.min(1) > EVEN * size.max(1) if len(bits) else np.zeros(0, bool)
    number = blinking.numbers(turn, bits > 0)
    good = np.flatnonzero(clear & (number >= 0))
    place = _middles(soft, rows[good], columns[good])
    return Spots(number[good], place, soft[rows[good], columns[good]].astype(np.float64)), blinks


def bright_spots(bright: NDArray[np.uint8]) -> F:
    """Return (K, 2) where a frame (H, W) has spots that are brighter than what is around them."""
    cv = opencv()
    soft = cv.GaussianBlur(bright, (0, 0), 1.0).astype(np.float32)
    soft -= cv.blur(soft, (AROUND, AROUND))
    rows, columns = _tops(soft, BRIGHTER)
    return _middles(soft, rows, columns)


def _tops(soft: F32, least: float) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return rows and columns of the brightest pixels (K,) of spots, of at least so many codes."""
    usual = float(np.median(soft))
    least = max(least, usual + NOISE * 1.48 * float(np.median(np.abs(soft - usual))))
    top = opencv().dilate(soft, np.ones((2 * NEAR + 1, 2 * NEAR + 1), np.uint8))
    rows, columns = np.nonzero((soft >= top) & (soft > least))
    rim = MIDDLE + 1
    h, w = soft.shape
    inner = (rows >= rim) & (rows < h - rim) & (columns >= rim) & (columns < w - rim)
    return rows[inner], columns[inner]


def _around(values: F32, rows: NDArray[np.intp], columns: NDArray[np.intp], reach: int) -> F32:
    """Return (K, (2 reach + 1)²) the values around places."""
    side = np.arange(-reach, reach + 1)
    found: F32 = values[rows[:, None, None] + side[:, None], columns[:, None, None] + side]
    return found.reshape(len(rows), len(side) ** 2)


def _middles(soft: F32, rows: NDArray[np.intp], columns: NDArray[np.intp]) -> F:
    """Return (K, 2) the weighted middles of spots; pixel (0, 0) covers 0..1."""
    weight = _around(soft, rows, columns, MIDDLE).astype(np.float64)
    weight = np.maximum(weight - weight.min(1, keepdims=True), 1e-9)
    weight /= weight.sum(1, keepdims=True)
    side = np.arange(-MIDDLE, MIDDLE + 1, dtype=np.float64)
    dy, dx = (a.ravel() for a in np.meshgrid(side, side, indexing="ij"))
    return np.stack([columns + 0.5 + weight @ dx, rows + 0.5 + weight @ dy], axis=1)
