"""`Mix`: the sparse matrix from mesh nodes to pixels of the picture, made a band at a time.

What has been added for a band is freed when the band's rows are made, so that a large picture's
entries are in memory once.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.inner import SparseRows

F32 = NDArray[np.float32]
Ints = NDArray[np.int32]

#: Pixels of the picture in a band.
BAND = 1 << 18


class Mix:
    """Entries of a matrix with a row for each of so many pixels of the picture."""

    def __init__(self, pixels: int) -> None:
        self._pixels = pixels
        self._bands: list[list[tuple[F32, Ints, Ints]]] = [[] for _ in range(0, pixels, BAND)]

    def add(self, pixel: Ints, node: Ints, weight: F32) -> None:
        """Add entries (K,); those for one pixel and node are added up in this order."""
        which = pixel // BAND
        for band in range(int(which.min()), int(which.max()) + 1):
            here = which == band
            self._bands[band].append((weight[here], pixel[here] - band * BAND, node[here]))

    def matrix(self, nodes: int) -> SparseRows:
        """Return the matrix (pixels, nodes); what was added is used up."""
        most = sum(len(weight) for band in self._bands for weight, _, _ in band)
        # Memory that isn't written to yet isn't taken from the machine either.
        data, column = np.empty(most, np.float32), np.empty(most, np.int32)
        ends, done = np.zeros(self._pixels + 1, np.int64), 0
        for number, band in enumerate(self._bands):
            first = number * BAND
            rows = min(BAND, self._pixels - first)
            if band:
                weight, pixel, node = map(np.concatenate, zip(*band, strict=True))
                band.clear()
                part = SparseRows.gathered(pixel, node, weight, (rows, nodes))
                data[done : done + part.nnz] = part.data
                column[done : done + part.nnz] = part.indices
                ends[first + 1 : first + rows + 1] = part.indptr[1:]
            ends[first + 1 : first + rows + 1] += done
            done = int(ends[first + rows])
        ends = ends.astype(np.int32 if done < 1 << 31 else np.int64)
        return SparseRows(data[:done], column[:done], ends, nodes)
