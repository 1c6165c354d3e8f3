"""Random numbers without a generator: a hash of (seed, place, time cell).

The same seed, place and cell give the same number in any block, order, process or machine. The
mixing function is SplitMix64's finaliser (Steele, Lea, Flood, "Fast splittable pseudorandom
number generators", 2014).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

F = NDArray[np.float64]
Key = NDArray[np.uint64]

_GOLDEN = np.uint64(0x9E3779B97F4A7C15)
_A, _B = np.uint64(0xBF58476D1CE4E5B9), np.uint64(0x94D049BB133111EB)


def key(*parts: ArrayLike) -> Key:
    """Mix integers (a seed, a cell's number, another key) into one key; the parts broadcast."""
    mixed: Key = np.zeros(1, np.uint64)
    for part in parts:
        whole = np.atleast_1d(np.asarray(part))
        if whole.dtype != np.uint64:
            whole = whole.astype(np.int64).view(np.uint64)
        mixed = _mix(mixed ^ whole)
    return mixed


def _mix(z: Key) -> Key:
    z = z + _GOLDEN
    z ^= z >> np.uint64(30)
    z *= _A
    z ^= z >> np.uint64(27)
    z *= _B
    z ^= z >> np.uint64(31)
    return z


def place(xyz: F) -> Key:
    """Return a key (N,) for each place (N, 3) m: its coordinates to the millimetre."""
    mm = np.rint(xyz * 1000).astype(np.int64)
    return key(mm[:, 0], mm[:, 1], mm[:, 2])


def share(keys: Key) -> F:
    """Return a number uniform over 0 <= x < 1 for each key."""
    return np.asarray((keys >> np.uint64(11)) * 2.0**-53)


def wait(keys: Key) -> F:
    """Return the time to the next event of a Poisson process of rate 1, for each key."""
    return np.asarray(-np.log1p(-share(keys)))
