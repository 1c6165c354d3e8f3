"""`Lights`: frames of a film moved onto one by the lights in them, where nothing else is seen.

Strategy: in a flash all pixels that the camera sees are lit; each later picture lights some of the
same. So a frame's spots are matched with those of the flash, from where the last frame lay, and a
shift, a turn and a size are fitted to the pairs (Besl and McKay, "A method for registration of 3-D
shapes", 1992; Umeyama, "Least-squares estimation of transformation parameters", 1991 [M]). After a
jerk the start is the shift that most pairs of spots have in common.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import cKDTree

from lumenmap.camera.film.spots import bright_spots

F = NDArray[np.float64]
F32 = NDArray[np.float32]

#: Spots are matched within these distances, one after another (pixels of a film 1,280 wide).
WITHIN = (6.0, 3.0, 1.5, 1.5)
#: This part of a frame's spots must match, and so many: else it isn't used. The others may be a
#: neighbour's lights, which come and go. If less than ``SURE`` match, a jerk is looked for, and
#: believed if it matches that much more.
MATCHED, FEWEST, SURE, CLEARLY = 0.4, 4, 0.85, 0.15
#: Jerks are looked for so far (pixels of a film 1,280 wide), in cells so large. Holes are evenly
#: spaced, so a shift by one spacing fits well, too: of those nearly as good, the smallest counts.
FAR, CELL, NEARLY = 80.0, 3.0, 0.9
#: A turn (radians) or a change of size of more than this between two frames is a wrong match.
TURN = 0.03


class Lights:
    """Moves frames onto the one in which all pixels are lit.

    Parameters
    ----------
    lit
        (H, W) uint8, a frame in the middle of a flash.
    """

    def __init__(self, lit: NDArray[np.uint8]) -> None:
        self._scale = lit.shape[1] / 1280
        self._known = _spots(lit)
        self._tree = cKDTree(self._known) if len(self._known) else None
        self._last: F32 = np.eye(2, 3, dtype=np.float32)
        self.lost = 0

    def move(self, bright: NDArray[np.uint8], *, lit: bool = True) -> F32 | None:
        """Return the (2, 3) map from the reference's pixels to a frame's, or None if it is lost.

        A frame in which no pixel is ``lit`` lies where the last one did.
        """
        if not lit:
            return self._last
        spots = _spots(bright)
        if self._tree is None:
            self.lost += 1
            return None
        if len(spots) < FEWEST:
            return self._last
        matched, found = self._fitted(spots, self._last)
        if matched < SURE:  # the hand may have jerked
            other = self._fitted(spots, self._commonest(spots))
            found = other[1] if other[0] > matched + CLEARLY else found
        if found is None:
            self.lost += 1
            return None
        self._last = found
        return found

    def _fitted(self, spots: F, start: F32) -> tuple[float, F32 | None]:
        """Return the share of spots (K, 2) that match, and the map that fits them best.

        It is looked for near a start; None if too few match.
        """
        assert self._tree is not None
        move = start.astype(np.float64)
        for within in WITHIN:
            back = _back(spots, move)
            far, which = self._tree.query(back, distance_upper_bound=within * self._scale)
            near = np.isfinite(far)
            if near.sum() < max(FEWEST, MATCHED * len(spots)):
                return 0.0, None
            move = _alike(self._known[which[near]], spots[near])
            if np.abs(move[:, :2] - start[:, :2]).max() > TURN:
                return 0.0, None
        return float(near.mean()), move.astype(np.float32)

    def _commonest(self, spots: F) -> F32:
        """Return the shift that most pairs of spots have in common, of those up to `FAR`."""
        apart = (spots[:, None] - self._known).reshape(-1, 2) / self._scale
        apart = apart[(np.abs(apart) < FAR).all(1)]
        cells = int(2 * FAR / CELL)
        sides = np.linspace(-FAR, FAR, cells + 1)
        counts, _, _ = np.histogram2d(apart[:, 0], apart[:, 1], bins=(sides, sides))
        # Two cells wide each way, so that none lies on a border.
        both = counts[:-1, :-1] + counts[1:, :-1] + counts[:-1, 1:] + counts[1:, 1:]
        good = sides[1 + np.argwhere(both >= NEARLY * both.max())] * self._scale
        x, y = good[np.linalg.norm(good - self._last[:, 2], axis=1).argmin()]
        return np.array([[1, 0, x], [0, 1, y]], np.float32)


def _spots(bright: NDArray[np.uint8]) -> F:
    """Return (K, 2) the places of a frame's spots; a pixel's middle is at its whole numbers."""
    return bright_spots(bright) - 0.5


def _back(spots: F, move: F) -> F:
    """Return where spots (K, 2) of a frame lie in the reference."""
    turn = move[:, :2]  # times a size: its inverse is its transpose, over the size's square
    back: F = (spots - move[:, 2]) @ turn / np.linalg.det(turn)
    return back


def _alike(known: F, spots: F) -> F:
    """Return the (2, 3) shift, turn and change of size from known places (K, 2) to spots (K, 2).

    The squares of what is left are least.
    """
    middle, there = known.mean(0), spots.mean(0)
    a, b = known - middle, spots - there
    along, across = (a * b).sum(), (a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum()
    turn = np.array([[along, -across], [across, along]]) / max(float((a * a).sum()), 1e-9)
    return np.hstack([turn, (there - turn @ middle)[:, None]])
