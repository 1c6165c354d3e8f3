"""`Parts`: how many 4096ths of each pixel's current each budget carries, row by row, without zeros.

Most pixels are in a handful of budgets, however many a house has, so a table of all budgets and all
pixels would grow with the square of the house.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

F = NDArray[np.float64]

#: Shares are rounded up to whole fractions of this many, so they are never below the true current.
PARTS = 4096
#: Up to so many numbers a table is held dense: a plain product then beats a sparse one.
DENSE = 1 << 18


class Row(NamedTuple):
    """One budget: the pixels whose current it carries, rising, and whole 4096ths of each."""

    pixels: NDArray[np.intp]
    whole: F

    @property
    def key(self) -> bytes:
        """Equal for equal rows."""
        return self.pixels.tobytes() + self.whole.tobytes()

    def among(self, mask: NDArray[np.bool_]) -> Row:
        """Return the row with only the pixels of a mask (N,)."""
        kept = mask[self.pixels]
        return Row(self.pixels[kept], self.whole[kept])


def in_parts(pixels: NDArray[np.intp], share: F) -> Row:
    """Return the shares (n,) of pixels (n,) in 4096ths, rounded up.

    A share within a millionth of 0 or 1 is exactly that.
    """
    rounded = np.ceil(np.clip(share, 0, 1) * PARTS - PARTS * 1e-6)
    kept = np.flatnonzero(rounded)
    return Row(pixels[kept], rounded[kept])


@dataclass(frozen=True, slots=True, eq=False)
class Parts:
    """K rows over N pixels."""

    rows: tuple[Row, ...]
    pixels: int

    def __repr__(self) -> str:
        """Count rows and pixels, in one line."""
        return f"<Parts: {len(self.rows)} rows over {self.pixels} pixels>"

    def totals(self) -> F:
        """Return the shares (K,) of all pixels together, in pixels."""
        return np.array([row.whole.sum() for row in self.rows]) / PARTS

    def shares(self) -> F:
        """Return the shares (K, N), 0..1, zeros and all."""
        table = np.zeros((len(self.rows), self.pixels))
        for k, row in enumerate(self.rows):
            table[k, row.pixels] = row.whole / PARTS
        return table

    def carried(self, zones: NDArray[np.intp]) -> NDArray[np.bool_]:
        """Return whether a row carries current of a zone, (Z, K), given each pixel's zone (N,)."""
        found = np.zeros((int(zones.max(initial=0)) + 1, len(self.rows)), bool)
        for k, row in enumerate(self.rows):
            found[zones[row.pixels], k] = True
        return found

    def distinct(self) -> tuple[Parts, NDArray[np.intp]]:
        """Return the rows that differ, and the place of each row among them (K,)."""
        place: dict[bytes, int] = {}
        which = [place.setdefault(row.key, len(place)) for row in self.rows]
        rows = dict(zip(reversed(which), reversed(self.rows), strict=True))
        return Parts(tuple(rows[k] for k in range(len(place))), self.pixels), np.array(which)

    def table(self, scale: float, kind: type[np.floating], weights: F | None = None) -> Any:
        """Return the rows as columns, to multiply light (T, N·C) with.

        Parameters
        ----------
        scale
            Every number is divided by it.
        kind
            float32 or float64.
        weights
            (N, C) what each channel of each pixel counts, 1 for a single channel by default.

        Returns
        -------
        (N·C, K) array, or a sparse matrix of that shape if it has over `DENSE` numbers
        """
        each = np.ones((self.pixels, 1)) if weights is None else weights
        channels, lines = each.shape[1], self.pixels * each.shape[1]
        if lines * len(self.rows) <= DENSE:
            dense = np.zeros((self.pixels, channels, len(self.rows)), kind)
            for k, row in enumerate(self.rows):
                dense[row.pixels, :, k] = row.whole[:, None] / scale * each[row.pixels]
            return dense.reshape(lines, len(self.rows))
        from scipy import sparse  # slow to import, and most houses are small

        places = [
            (row.pixels[:, None] * channels + np.arange(channels)).ravel() for row in self.rows
        ]
        values = [(row.whole[:, None] / scale * each[row.pixels]).ravel() for row in self.rows]
        ends = np.cumsum([0, *(len(p) for p in places)])
        return sparse.csc_array(
            (np.concatenate(values).astype(kind), np.concatenate(places), ends),
            shape=(lines, len(self.rows)),
        )
