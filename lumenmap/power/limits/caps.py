"""Budgets as whole numbers for a small controller: sums of codes, and the most each may be.

Strategy: a budget's current is idle + Σ share · amps of the channel · code / 255. With shares in
4096ths and the channels' amps as whole multiples of one unit, the sum is a whole number, and so is
the greatest sum that the budget allows.
"""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.power.limits.budgets import Budgets
from lumenmap.power.limits.parts import PARTS, Parts

#: Room that the controller's image has for caps, and for a channel's weight.
MOST, HEAVIEST = 16, 65535


def caps(budgets: Budgets, pixelmap: PixelMap) -> dict[str, Any]:
    """Return the caps as ``frames.json`` carries them.

    Supplies always have one; fuses and wires have one where full white would be too much for them,
    the fullest first.

    Returns
    -------
    ``names`` and ``limits`` of K caps, ``weights`` of the channels of each line in wire order, and
    ``zones``, each stretch of pixels in wiring order with its K shares in 4096ths.
    """
    weights, unit = channel_weights(budgets.channel_amps)
    chosen = _chosen(budgets)
    rows = tuple(budgets.parts.rows[k] for k in chosen)
    share = np.rint(Parts(rows, budgets.pixels).shares() * PARTS).astype(np.int64).T
    edges = np.flatnonzero((np.diff(share, axis=0) != 0).any(axis=1)) + 1
    starts = [0, *edges.tolist()]
    counts = np.diff([*starts, len(share)]).tolist()
    room = budgets.amps[chosen] - budgets.idle[chosen]
    return {
        "names": [budgets.names[k] for k in chosen],
        "limits": [max(0, math.floor(a * 255 * PARTS / unit)) for a in room.tolist()],
        "weights": [[weights["RGBW".index(c)] for c in span.order] for span in pixelmap.lines],
        "zones": [
            {"pixels": n, "share": share[i].tolist()} for n, i in zip(counts, starts, strict=True)
        ],
    }


def channel_weights(amps: NDArray[np.float64]) -> tuple[list[int], float]:
    """Return whole weights of the channels and the amps that a weight of 1 stands for.

    Currents in simple proportion come out exactly; others are rounded up, by less than 1/65535 of
    the largest.

    >>> channel_weights(np.array([0.02, 0.02, 0.012]))[0]
    [5, 5, 3]
    """
    largest = float(amps.max())
    ratios = [Fraction(a / largest).limit_denominator(1000) for a in amps.tolist()]
    whole = math.lcm(*(r.denominator for r in ratios))
    close = all(abs(float(r) - a / largest) < 1e-12 for r, a in zip(ratios, amps, strict=True))
    if close and whole <= HEAVIEST:
        return [int(r * whole) for r in ratios], largest / whole
    unit = largest / HEAVIEST
    return [min(HEAVIEST, math.ceil(a / unit)) for a in amps.tolist()], unit


def _chosen(budgets: Budgets) -> list[int]:
    """Return which budgets need a cap: those with the same shares only once, the tightest."""
    channels = len(budgets.channel_amps)
    full = budgets.amps_of(np.full((1, budgets.pixels, channels), 255, np.uint8))[0]
    fullness = full / budgets.amps
    best: dict[bytes, int] = {}
    for k in np.argsort(-fullness, kind="stable").tolist():
        if fullness[k] > 1 or budgets.kinds[k] == "supply":
            best.setdefault(budgets.parts.rows[k].key, k)
    return list(best.values())[:MOST]
