"""`fit_palette`: the best palette for a whole clip, in OKLab."""

from __future__ import annotations

import heapq
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour import oklab
from lumenmap.colour.transfer import to_srgb
from lumenmap.pictures.encode.colour_cells import CELLS, Frame, cell, lab, packed
from lumenmap.pictures.inner import nearest

F32 = NDArray[np.float32]

#: Rounds of k-means after the splits; ten would change the mean error by less than 2 %.
ROUNDS = 4
#: Of large frames every seventh pixel is counted; odd, so that all columns take part.
EVERY = 7
#: Most colours to fit to; more are reduced by weight.
MOST = 12_000


def fit_palette(samples: Sequence[Frame], count: int) -> Frame:
    """Return at most ``count`` (K, 3) sRGB colours fitted to sample frames.

    The histogram of the samples is split where it varies most (as median cut does, by variance),
    then moved by k-means; both in OKLab, where equal distances look equal.
    """
    colours, weight = _histogram(samples)
    places = lab(colours)
    centres = _split(places, weight, count)
    for _ in range(ROUNDS):
        near = nearest(places, centres)
        total = np.bincount(near, weight, len(centres))
        moved = np.stack(
            [np.bincount(near, weight * places[:, k], len(centres)) for k in range(3)], axis=1
        )
        used = total > 0
        centres[used] = moved[used] / total[used, None]
    linear = np.clip(oklab.to_linear(centres), 0, 1)
    codes = np.round(to_srgb(linear) * 255).astype(np.uint8)
    return np.array(sorted(set(map(tuple, codes.tolist()))), np.uint8)


def _histogram(samples: Sequence[Frame]) -> tuple[NDArray[np.uint32], NDArray[np.float64]]:
    """Return a colour of each cell that occurs, and how often the cell occurs."""
    parts = [packed(frame).ravel() for frame in samples]
    flat = np.concatenate([p[:: EVERY if len(p) > 50_000 else 1] for p in parts])
    # Pictures have few colours: sorting first leaves little to put into a table of all cells.
    codes, times = _counted(flat & np.uint32(0xFFFFFF))
    cells = cell(codes)
    count = np.asarray(np.bincount(cells, times, CELLS), np.float64)
    colour = np.zeros(CELLS, np.uint32)
    colour[cells] = codes
    found = np.flatnonzero(count > 0)
    if len(found) > MOST:
        order = found[np.argsort(count[found])[::-1]]
        # Of the rare ones every n-th is kept and stands for those in between.
        common, rare = order[: MOST // 2], order[MOST // 2 :]
        kept = rare[:: -(-len(rare) // (MOST // 2))]
        count[kept] = count[kept] * (count[rare].sum() / count[kept].sum())
        found = np.concatenate([common, kept])
    return colour[found], count[found]


def _counted(values: NDArray[np.uint32]) -> tuple[NDArray[np.uint32], NDArray[np.intp]]:
    """Return what values there are, sorted, and how often (`np.unique` loads masked arrays)."""
    ordered = np.sort(values)
    begins = np.flatnonzero(np.concatenate([[True], ordered[1:] != ordered[:-1]]))
    return ordered[begins], np.diff(begins, append=len(ordered))


def _split(places: F32, weight: NDArray[np.float64], count: int) -> F32:
    """Split the box that varies most until there are enough; return their means."""

    def box(rows: NDArray[np.intp], number: int) -> tuple[float, int, NDArray[np.intp], int, F32]:
        here, w = places[rows], weight[rows]
        mean = (w @ here) / w.sum()
        spread = w @ (here - mean) ** 2
        axis = int(spread.argmax())
        return -float(spread.sum()) if len(rows) > 1 else 0.0, number, rows, axis, mean

    heap = [box(np.arange(len(places)), 0)]
    number = 0
    while len(heap) < count and heap[0][0] < 0:
        _, _, rows, axis, mean = heapq.heappop(heap)
        above = places[rows, axis] > mean[axis]
        if above.all() or not above.any():  # equal except for rounding
            above = np.arange(len(rows)) % 2 == 0
        for part in (rows[above], rows[~above]):
            number += 1
            heapq.heappush(heap, box(part, number))
    return np.array([b[4] for b in heap], np.float32)
