"""How a line's current splits between its feeds, by the resistances alone.

Strategy: a pixel that has its volts draws constant current, so the network is linear and the
split of each pixel's current depends on resistances only. One tridiagonal solve a feed: by
reciprocity, the node voltages from one ampere pushed in at a feed's far side are the shares of all
pixels in that feed.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solveh_banded

F = NDArray[np.float64]

#: A share is a whole number of these parts of one, rounded up: sums of codes are then whole
#: numbers, the same on any machine, and never below the true current.
PARTS = 4096

#: Joints are never perfect: the least resistance between two places (ohm), to keep the solve sound.
_LEAST = 1e-6


def feed_shares(places: F, feeds: F, lead_ohms: F, ohm_per_m: float) -> F:
    """Return the part of each pixel's current that each feed carries.

    Parameters
    ----------
    places
        (n,) m along the line of each pixel, rising.
    feeds
        (m,) m along the line where each feed joins; all from sources of the same voltage.
    lead_ohms
        (m,) resistance of each feed, out and back.
    ohm_per_m
        The string's own conductors, out and back together.

    Returns
    -------
    (m, n); columns sum to 1.
    """
    spots = np.concatenate([places, feeds])
    order = np.argsort(spots, kind="stable")
    at = np.empty(len(spots), int)
    at[order] = np.arange(len(spots))
    gaps = np.maximum(np.diff(spots[order]) * ohm_per_m, _LEAST)
    links = 1 / gaps
    diagonal = np.zeros(len(spots))
    diagonal[:-1] += links
    diagonal[1:] += links
    feed_links = 1 / np.maximum(lead_ohms, _LEAST)
    where = at[len(places) :]
    np.add.at(diagonal, where, feed_links)
    banded = np.zeros((2, len(spots)))
    banded[0, 1:] = -links
    banded[1] = diagonal
    push = np.zeros((len(spots), len(feeds)))
    push[where, np.arange(len(feeds))] = feed_links
    volts: F = solveh_banded(banded, push)
    return volts[at[: len(places)]].T


def in_parts(shares: F) -> F:
    """Round shares up to whole 4096ths; what is 0 or 1 to a millionth stays exactly that."""
    return np.ceil(np.clip(shares, 0, 1) * PARTS - PARTS * 1e-6) / PARTS
