"""A ramp: a number that changes over time, and what it adds up to.

Strategy: a distance is the integral of a speed, so that a speed that changes doesn't jump. The
integral is split in two: the first value times the time, exactly as for a plain number, and the sum
of what the ramp differs from that, which is 0 as long as it doesn't change. So a ramp that stays
the same gives the same light as the plain number, to the bit.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from lumenmap.motion.easing import Easing, linear
from lumenmap.motion.shapes import lightness, luminance

F = NDArray[np.float64]

#: Steps of each piece whose sums are tabulated; an eased piece is summed to 1e-7 of itself.
_STEPS = 1024
#: Steps from the lowest value to the highest, for what isn't worked out anew for every frame.
_FINE = 64


@dataclass(frozen=True, slots=True)
class Ramp:
    """A value for each of some times, and how it gets from each to the next.

    Attributes
    ----------
    at
        Rising times (s) since the cue's start. Before the first and after the last the value
        stays.
    to
        The value (SI) at each of them.
    repeat
        Starts again after the last time; the first time is 0 then.
    even
        The values are brightnesses, and change in steps that are even to the eye.
    low, high
        The option's range, which an easing that overshoots doesn't leave.
    """

    at: tuple[float, ...]
    to: tuple[float, ...]
    easing: Easing = linear
    repeat: bool = False
    even: bool = False
    low: float = -np.inf
    high: float = np.inf

    def __call__(self, since: F) -> F:
        """Return the value at times (any shape) since the cue's start, s."""
        since = np.asarray(since, np.float64)
        if self.repeat:
            since = since % self.at[-1]
        if len(self.at) == 2:  # most ramps: what follows, for one piece
            begin, end = self.at
            return self._value(
                0, (np.minimum(np.maximum(since, begin), end) - begin) / (end - begin)
            )
        at = np.array(self.at)
        piece = np.searchsorted(at[1:-1], since, side="right")
        begins, ends = at[piece], at[piece + 1]
        # Held to the piece before the division, so that the steepest ramp doesn't overflow.
        return self._value(
            piece, (np.minimum(np.maximum(since, begins), ends) - begins) / (ends - begins)
        )

    def stepped(self, since: F, values: F | None = None) -> tuple[F, NDArray[np.bool_]]:
        """Return the values in steps too small to see, so that frames of a slow ramp share one.

        Steps grow with the value, as the eye's own do. What it begins with, stops at and turns
        back from is kept to the bit. The second result says which values are none of these.
        ``values`` spares their calculation where they are known.
        """
        values = self(since) if values is None else values
        passing = np.ones(np.shape(since), bool)
        least, most = _range(self)
        for stop in set(self.to):
            # A curve is solved to less than this, and may end beside its stop.
            there = np.abs(values - stop) <= 1e-6 * (most - least)
            passing &= ~there
            values = np.where(there, stop, values)
        if least == most:
            return values, passing
        # The range is that of samples: between them a curve may pass a little below it.
        share = np.round(np.sqrt(np.maximum(values - least, 0) / (most - least)) * _FINE) / _FINE
        stepped = least + share**2 * (most - least)
        return np.where(passing, stepped, values), passing

    def _value(self, piece: NDArray[np.intp] | int, part: F) -> F:
        """Return the value ``part`` 0..1 of the way through each piece."""
        to = np.array(self.to)
        eased = self.easing(part)
        if self.even:
            light = lightness(np.clip(to, 0, 1))
            mixed = light[piece] + (light[piece + 1] - light[piece]) * eased
            # A piece that doesn't change keeps its value to the bit.
            same = to[piece] == to[piece + 1]
            value = np.where(same, to[piece], luminance(np.clip(mixed, 0, 1)))
        else:
            begin = to[piece]
            value = begin + (to[piece + 1] - begin) * eased
        return np.asarray(np.minimum(np.maximum(value, self.low), self.high))

    @property
    def most(self) -> float:
        """The highest value that it takes."""
        return _range(self)[1]

    @property
    def least(self) -> float:
        """The lowest value that it takes."""
        return _range(self)[0]

    def gained(self, since: F, inverse: bool = False) -> F:
        """Return the integral since time 0 of what the value differs from the first one.

        Parameters
        ----------
        since
            (…) s since the cue's start.
        inverse
            Of 1/value instead, for a period whose turns are counted; no value may be 0 then.
        """
        times, sums, last = _sums(self, inverse)
        if not self.repeat:
            found = np.interp(since, times, sums)
            return np.asarray(found + last * np.maximum(np.asarray(since) - times[-1], 0))
        rounds = np.floor(np.asarray(since) / times[-1])
        inside = np.asarray(since) - rounds * times[-1]
        return np.asarray(rounds * sums[-1] + np.interp(inside, times, sums))


@lru_cache(64)
def _range(ramp: Ramp) -> tuple[float, float]:
    """Return the lowest and the highest value, at even steps from end to end of each piece."""
    values = _values(ramp, np.linspace(0, 1, _STEPS + 1))
    return float(values.min()), float(values.max())


def _values(ramp: Ramp, part: F) -> F:
    """Return the values (pieces, n) at parts (n,) of each piece."""
    parts = np.broadcast_to(part, (len(ramp.at) - 1, len(part)))
    piece = np.broadcast_to(np.arange(len(ramp.at) - 1)[:, None], parts.shape)
    return ramp._value(piece, parts)


@lru_cache(64)
def _sums(ramp: Ramp, inverse: bool) -> tuple[F, F, float]:
    """Return times, the integral up to each, and how fast it grows after the last."""
    at, first = np.array(ramp.at), ramp.to[0]
    end = float(_values(ramp, np.ones(1))[-1, 0])
    # At the middle of each step: exact for straight lines, and for jumps between steps.
    values = _values(ramp, (np.arange(_STEPS) + 0.5) / _STEPS)
    step = np.diff(at)[:, None] / _STEPS
    added = (1 / values - 1 / first if inverse else values - first) * step
    times = at[:-1, None] + step * np.arange(1, _STEPS + 1)
    last = 0.0 if ramp.repeat else 1 / end - 1 / first if inverse else end - first
    sums = np.cumsum(added.ravel())
    return np.concatenate([at[:1], times.ravel()]), np.concatenate([[0.0], sums]), last
