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
CELL, LISTENED = 32, 20
#: The brightest cells must change by this many codes at least, and follow the clock this well.
LEAST, LIKE = 0.5, 0.75
#: A cell's variance is at least this (codes²): compression makes still ones too quiet.
QUIET = 0.04
#: A blinking that begins later than this (s) was filmed from the middle of a round.
LATE = 5.0
#: Steps in which the start is refined (s), and how far.
STEP, AROUND = 0.004, 0.12
#: So many starts are looked at more closely, so many frames apart, if they change at least this
#: part of the most; of those that are nearly as much like flashes as the best, the brightest is
#: taken.
PEAKS, APART, NEARLY, ALIKE = 6, 8, 0.5, 0.03


@dataclass(frozen=True, slots=True, eq=False)
class Clock:
    """When the blinking starts (s of the film), and how bright the flashes were (codes)."""

    start: float
    change: float


def find_clock(times: F, cells: F32, blinking: Blinking) -> Clock:
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
    # Sent in a loop, the blinking may be cut off at the film's end: an earlier round is whole then.
    whole = starts[starts - 2 * LEAD + blinking.seconds <= times[-1] + 2 * period]
    clock = _clock(times, cells, whole, period) if len(whole) else None
    clock = clock or _clock(times, cells, starts, period)
    if clock is None:
        raise InputError(
            "doesn't show three flashes of all pixels, a second apart, before the numbers; film "
            "the blinking from before its start, at normal speed"
        )
    if clock.start + blinking.seconds - LEAD > times[-1] + 2 * period:
        left = clock.start + blinking.seconds - LEAD - times[-1]
        began = clock.start - times[0]
        late = f" It begins {began:.0f} s into the film." if began > LATE else ""
        raise InputError(f"ends {left:.0f} s before the blinking does; film it to its end.{late}")
    return clock


def _clock(times: F, cells: F32, starts: F, period: float) -> Clock | None:
    """Return when the blinking starts, at about one of the ``starts``, or None without flashes."""
    scores = np.array([_Flashes.at(times, cells, start, period).score for start in starts])
    if not scores.max() > 0:
        raise InputError("shows nothing that changes; film the blinking from before its start")
    tried = [_Tried.near(times, cells, float(starts[k]), period) for k in _peaks(scores)]
    most = max(t.likeness.max() for t in tried)
    # A house that shakes may change more, by chance, but not as flashes do.
    found = next(t for t in tried if t.likeness.max() > most - ALIKE)
    fine, likeness, strong = found.starts, found.likeness, found.change
    if strong < LEAST or likeness.max() < LIKE:
        return None
    # The middle of the best, since the likeness is flat around it.
    good = fine[likeness > likeness.max() - 0.002]
    return Clock(float(good.mean()) - LEAD, strong)


@dataclass(frozen=True, slots=True, eq=False)
class _Flashes:
    """How cells (C,) change with flashes that start at a time.

    ``change`` is how much, codes; ``like`` the correlation; ``rest`` the variance of what is left.
    """

    change: F32
    like: F32
    rest: F32

    @classmethod
    def at(cls, times: F, cells: F32, start: float, period: float) -> _Flashes:
        # Dark before, and hardly lit after: what blinks on and on at the same rate doesn't fit.
        near = times >= start - 0.8 * LEAD
        near &= times <= start + 2 * HALF * FLASHES + 0.9
        share = _share(times[near] - start, period)
        share -= share.mean()
        own = cells[near]
        own = own - own.mean(0)
        both = share.astype(np.float32) @ own
        size = float(np.linalg.norm(share))
        like = both / np.maximum(size * np.linalg.norm(own, axis=0), 1e-6)
        rest = (own**2).mean(0) * (1 - like**2)
        return cls(both / max(size**2, 1e-6), like, rest)

    @property
    def weight(self) -> F32:
        """(C,): a window's edge changes a cell much as the hand shakes, but not like flashes."""
        return np.asarray(np.maximum(self.change, 0) ** 2 / (self.rest + QUIET))

    @property
    def score(self) -> float:
        few = min(LISTENED, len(self.change))
        return float(np.sort(self.weight)[-few:].sum())


@dataclass(frozen=True, slots=True, eq=False)
class _Tried:
    """Starts near one that was tried: how like flashes each is, and how bright they would be."""

    starts: F
    likeness: F
    change: float

    @classmethod
    def near(cls, times: F, cells: F32, at: float, period: float) -> _Tried:
        flashes = _Flashes.at(times, cells, at, period)
        listened = np.argsort(flashes.weight)[-LISTENED:]
        # What is quiet otherwise counts most: the sum in which flashes stand out best.
        part = flashes.change[listened] / (flashes.rest[listened] + QUIET)
        signal = (cells[:, listened] @ part / part.sum()).astype(np.float64)
        fine = at + np.arange(-AROUND, AROUND + STEP / 2, STEP)
        likeness = np.array([_likeness(times, signal, start, period) for start in fine])
        return cls(fine, likeness, float(np.median(flashes.change[listened][-10:])))


def _peaks(scores: F) -> list[int]:
    """Return the best few of the starts that are tried, none near another, the best first."""
    found: list[int] = []
    for k in np.argsort(-scores).tolist():
        if len(found) == PEAKS or scores[k] < NEARLY * scores.max():
            break
        if all(abs(k - other) > APART for other in found):
            found.append(k)
    return found


def _share(at: F, period: float) -> F:
    """Return the share of each frame's time, about one period long, that falls into a flash."""
    share = np.zeros(len(at))
    for k in range(FLASHES):
        low, high = 2 * HALF * k, 2 * HALF * k + HALF
        share += np.clip(
            np.minimum(at + period / 2, high) - np.maximum(at - period / 2, low), 0, period
        )
    return share / period


def _likeness(times: F, signal: F, start: float, period: float) -> float:
    """Return the correlation of the signal with flashes that start then, as frames see them."""
    near = (times >= start - 0.4) & (times <= start + 2 * HALF * FLASHES - 0.1)
    share, own = _share(times[near] - start, period), signal[near]
    a, b = own - own.mean(), share - share.mean()
    return float(a @ b / max(float(np.linalg.norm(a) * np.linalg.norm(b)), 1e-9))
