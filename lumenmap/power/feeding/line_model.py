"""`LineModel`: one line at full white, quick enough to try hundreds of ways to feed it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solveh_banded

F = NDArray[np.float64]

#: The least loop resistance (ohm) of a stretch of string or a feed.
_MIN_OHMS = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class LineModel:
    """Pixels along a pair of conductors.

    Attributes
    ----------
    positions
        (n,) m along the line.
    link_ohms
        (n - 1,) from each pixel to the next, of both conductors together.
    pixel_amps
        The current of each pixel.
    """

    positions: F
    link_ohms: F
    pixel_amps: float

    def __len__(self) -> int:
        return len(self.positions)

    def feed(self, at: NDArray[np.intp], ohms: F) -> tuple[F, F]:
        """Feed the line at pixels ``at`` (m,) through loops of ``ohms`` (m,).

        Returns
        -------
        drops, amps
            V (n,) below the supply at each pixel; A (m,) through each feed.
        """
        links = 1 / np.maximum(self.link_ohms, _MIN_OHMS)
        feeds = 1 / np.maximum(ohms, _MIN_OHMS)
        banded = np.zeros((2, len(self)))
        banded[0, 1:] = -links
        banded[1, :-1] += links
        banded[1, 1:] += links
        np.add.at(banded[1], at, feeds)
        load = np.full(len(self), self.pixel_amps)
        # A single pixel has no off-diagonal band, which the solver would expect.
        drops: F = solveh_banded(banded[-min(2, len(self)) :], load, check_finite=False)
        return drops, drops[at] * feeds

    def string_amps(self, drops: F) -> F:
        """Return the A (n - 1,) in the string between pixels, from their voltage drops."""
        between: F = np.abs(np.diff(drops)) / np.maximum(self.link_ohms, _MIN_OHMS)
        return between
