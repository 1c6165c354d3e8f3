"""When the blinking starts in a film: all pixels on and off, three times, found by correlation."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.blinks.blinking import FLASHES, HALF, LEAD, Blinking
from lumenmap.core.errors import InputError

F = NDArray[np.float64]
F32 = NDArray[np.float32]

#: Side of a cell in pixels, larger than a hand shakes, and how many cells are listened to.
CELL, LISTENED = 32, 60
#: The brightest cells must change by this many codes at least, and follow the clock this well.
LEAST, LIKE = 0.5, 0.75
#: Steps in which the start is refined (s), and how far.
STEP, AROUND = 0.004, 0.12


@dataclass(frozen=True, slots=True, eq=False)
class Clock:
    """When the blinking starts (s of the film), and how bright the flashes were (codes)."""

    start: float
    change: float


def find_clock(times: F, cells: NDArray[np.float32], blinking: Blinking) -> Clock:
    """Return when the blinking starts.

    Parameters
    ----------
    times
        (T,) of the frames, s.
    cells
        (T, C) mean brightness of cells of the picture.

    Raises
    ------
    InputError
        No flashes, or a film that ends before the blinking does.
    """
    if len(times) < 30:
        raise InputError("has hardly any frames; film the whole blinking")
    period = float(np.median(np.diff(times)))
    starts = times[times + LEAD + 2 * HALF * FLASHES <= times[-1] + period] + LEAD
    if not len(starts):
        raise InputError("is too short for the flashes at the start; film the whole blinking")
    sums = np.zeros((len(times) + 1, cells.shape[1]), np.float32)
    np.cumsum(cells, axis=0, dtype=np.float32, out=sums[1:])
    # Sent in a loop, the blinking may be cut off at the film's end: an earlier round is whole then.
    whole = starts[starts - 2 * LEAD + blinking.seconds <= times[-1] + 2 * period]
    starts = whole if len(whole) else starts
    scores = np.array([_score(times, sums, start, period) for start in starts])
    best = float(starts[int(np.argmax(scores))])
    change = _change(times, sums, best, period)
    listened = np.argsort(change)[-LISTENED:]
    strong = float(np.median(change[listened][-10:]))
    signal = cells[:, listened].mean(1, dtype=np.float64)
    fine = best + np.arange(-AROUND, AROUND + STEP / 2, STEP)
    likeness = np.array([_likeness(times, signal, at, period) for at in fine])
    if strong < LEAST or likeness.max() < LIKE:
        raise InputError(
            "doesn't show three flashes of all pixels, a second apart, before the numbers; film "
            "the blinking from before its start"
        )
    # The middle of the best, since the likeness is flat around it.
    good = fine[likeness > likeness.max() - 0.002]
    clock = Clock(float(good.mean()) - LEAD, strong)
    if clock.start + blinking.seconds - LEAD > times[-1] + 2 * period:
        left = clock.start + blinking.seconds - LEAD - times[-1]
        raise InputError(f"ends {left:.0f} s before the blinking does; film it to its end")
    return clock


def _halves(start: float) -> list[tuple[float, float, int]]:
    """Return (from, to, 1 or -1): on and off, without the moments between."""
    rim = 0.08
    out = []
    for k in range(FLASHES):
        at = start + 2 * HALF * k
        out.append((at + rim, at + HALF - rim, 1))
        out.append((at + HALF + rim, at + 2 * HALF - rim, -1))
    # Dark before, and hardly lit after: what blinks on and on at the same rate doesn't fit.
    end = start + 2 * HALF * FLASHES
    out.append((start - 0.8 * LEAD, start - rim, -1))
    out.append((end + rim, end + 2 * HALF, -1))
    return out


def _change(times: F, sums: NDArray[np.float32], start: float, period: float) -> F:
    """Return (C,) how much brighter cells are in the flashes than between: the least of each."""
    on: list[F32] = []
    off: list[F32] = []
    for first, last, sign in _halves(start):
        i, j = np.searchsorted(times, (first, last - period))
        i = min(int(i), len(times) - 1)
        mean = (sums[max(j, i + 1)] - sums[i]) / max(1, j - i)
        (on if sign > 0 else off).append(mean)
    return np.asarray(np.min(on, axis=0) - np.max(off, axis=0), np.float64)


def _score(times: F, sums: NDArray[np.float32], start: float, period: float) -> float:
    change = np.maximum(_change(times, sums, start, period), 0)
    few = min(LISTENED, len(change) - 1)
    return float(np.partition(change, len(change) - few)[-few:].sum())


def _likeness(times: F, signal: F, start: float, period: float) -> float:
    """Return the correlation of the signal with flashes that start then, as frames see them."""
    near = (times >= start - 0.4) & (times <= start + 2 * HALF * FLASHES - 0.1)
    at = times[near] - start
    # Share of a frame's time, about one period long, that falls into a flash.
    share = np.zeros(len(at))
    for k in range(FLASHES):
        low, high = 2 * HALF * k, 2 * HALF * k + HALF
        share += np.clip(
            np.minimum(at + period / 2, high) - np.maximum(at - period / 2, low), 0, period
        )
    own = signal[near]
    a, b = own - own.mean(), share - share.mean()
    return float(a @ b / max(float(np.linalg.norm(a) * np.linalg.norm(b)), 1e-9))
