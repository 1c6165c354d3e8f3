"""Near a lamp its own light outweighs that of its group: how the group's light is shared there.

A group's light is measured as a whole. Far away it is the mean of its lamps'; near them it follows
the nearest. Each lamp's weight is that of its image, a sharp spot, and of what it throws on a wall
a hand's breadth behind it, by the inverse square law; the weights of a group add up to 1, so that
a group that is lit evenly is drawn exactly as it was measured.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

F = NDArray[np.float64]
F32 = NDArray[np.float32]

#: How far behind a lamp the wall is (m) [C].
BEHIND = 0.25
#: A lamp's image in a film: its width (pixels of the film, one standard deviation), how much
#: brighter than its light on the wall, and how far it reaches in such widths.
CORE, BRIGHTER, REACH = 1.3, 60.0, 4.0
#: Weights are followed as far as so many times the distance to the wall.
FAR = 4.0


@dataclass(frozen=True, slots=True, eq=False)
class Lamps:
    """Lamps in a picture.

    Attributes
    ----------
    places
        (N, 2) pixels of the picture.
    seen
        (N,) whether the picture shows the lamp itself.
    behind
        (N,) the distance to the wall behind it, pixels of the picture.
    core
        The width of its image, pixels of the picture.
    """

    places: F
    seen: NDArray[np.bool_]
    behind: F
    core: float


def near_weights(
    lamps: Lamps, starts: NDArray[np.int64], size: tuple[int, int]
) -> sparse.csr_array:
    """Return (H · W, N): how much more of its group's light follows each lamp than its mean.

    The light of a group is its mean, plus these weights times each lamp's light less the mean.
    """
    w, h = size
    stops = [*starts[1:].tolist(), len(lamps.places)]
    parts = []
    for first, stop in zip(starts.tolist(), stops, strict=True):
        spots = [_weights(lamps, n, size) for n in range(first, stop)]
        at = np.concatenate([s[0] for s in spots])
        value = np.concatenate([s[1] for s in spots])
        lamp = np.repeat(np.arange(stop - first), [len(s[0]) for s in spots])
        # Beyond its reach each lamp has the weight that it has at its end.
        floor = sum(1 / ((FAR**2 + 1) * float(lamps.behind[n]) ** 2) for n in range(first, stop))
        total = np.bincount(at, value, minlength=w * h) + floor
        share = (value / total[at]).astype(np.float32)
        parts.append(sparse.csc_array((share, (at, lamp)), shape=(w * h, stop - first)))
    return sparse.hstack(parts).tocsr()


def _weights(lamps: Lamps, n: int, size: tuple[int, int]) -> tuple[NDArray[np.intp], F]:
    """Return the pixels round a lamp, and its weight there above that at its end."""
    w, h = size
    behind = float(lamps.behind[n])
    reach = max(FAR * behind, REACH * lamps.core)
    x, y = lamps.places[n]
    low = np.maximum(np.floor([x - reach, y - reach]), 0)
    high = np.minimum(np.ceil([x + reach, y + reach]), (w, h))
    if not (np.isfinite([x, y]).all() and (high > low).all()):
        return np.zeros(0, np.intp), np.zeros(0)
    columns, rows = np.meshgrid(np.arange(low[0], high[0]), np.arange(low[1], high[1]))
    square = ((columns + 0.5 - x) ** 2 + (rows + 0.5 - y) ** 2).ravel()
    value = 1 / (square + behind**2) - 1 / ((FAR**2 + 1) * behind**2)
    if lamps.seen[n]:
        image = np.exp(-square / (2 * lamps.core**2))
        value = np.maximum(value, 0) + BRIGHTER / behind**2 * image * (image > 3e-4)
    kept = value > 0
    at = (rows.ravel()[kept] * w + columns.ravel()[kept]).astype(np.intp)
    return at, value[kept]
