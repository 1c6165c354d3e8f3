"""Beats by dynamic programming over beat time and beat period.

Source: D. P. W. Ellis, "Beat Tracking by Dynamic Programming", Journal of New Music Research 36(1),
2007 [M]. There one period holds for the whole piece; here it is part of the state, so that a player
who speeds up is followed. Every moment is a possible beat at every possible period; the beat before
it was one period earlier, at a period that was nearly the same. The best chain of beats is found
from its end.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.motion.beats import Beats
from lumenmap.sound.flux import PER_SECOND, flux
from lumenmap.sound.read import Sound

F = NDArray[np.float64]
I = NDArray[np.intp]  # noqa: E741

#: Periods from this part of the expected one to its reciprocal. Half and double lie outside.
_SPAN = 0.74
#: What a change of period costs, for the square of its logarithm; and how many neighbouring
#: periods it may reach in one beat. Both from trials on made-up pieces.
_STIFF, _REACH = 400.0, 0.06
#: What it costs to stop and begin again, in beats on clear onsets; the shortest stop (s).
_RESTART, _SHORTEST_STOP = 12.0, 1.0
#: Quieter than this part of the loudest is a pause.
_PAUSE = 0.005
SLOWEST, QUICKEST = 30.0, 300.0


def find_beats(sound: Sound, about: float, bar: int = 4) -> Beats:
    """Find the beats of a piece.

    Parameters
    ----------
    about
        About how many beats a minute: right within 6 %, on the piece's average.
    bar
        Beats in a bar.

    Raises
    ------
    InputError
        A tempo or bar that isn't one, a piece too short for four beats, or with a single one.
    """
    if not SLOWEST <= about <= QUICKEST:
        raise InputError(
            f"is {about:g}; expected {SLOWEST:g} to {QUICKEST:g} beats a minute", key="about"
        )
    if not 1 <= bar <= 16:
        raise InputError(f"is {bar}; expected 1 to 16 beats", key="bar")
    sets_in, bass, loud = flux(sound)
    middle = 60 * PER_SECOND / about
    if len(sets_in) < 4 * middle:
        raise InputError(f"is {sound.seconds:.1f} s long, too short for four beats")
    chain = _chain(sets_in, np.arange(round(_SPAN * middle), round(middle / _SPAN) + 1), middle)
    lit = np.array([loud[max(0, t - 8) : t + 12].max() for t in chain]) > _PAUSE * loud.max()
    chain = chain[lit]
    if len(chain) < 2:  # one bang in a long silence
        raise InputError("has only one beat that is loud enough; expected two or more")
    return Beats(chain / PER_SECOND, _places(chain, bass, bar))


def _chain(sets_in: F, periods: I, middle: float) -> I:
    """Return the best chain of beats: moments, rising.

    ``onward[u, p]`` is the best score of a chain with a beat at u that goes on with period p; only
    the last rows are needed, so it is a ring.
    """
    count, most, steps = len(sets_in), int(periods[-1]) + 1, np.arange(len(periods))
    reach = max(2, int(np.ceil(_REACH * middle)))
    cost = _costs(periods, reach)
    stop = int(_SHORTEST_STOP * PER_SECOND)
    onward = np.zeros((most, len(periods)))
    spread = np.full(len(periods) + 2 * reach, -np.inf)
    window = np.lib.stride_tricks.sliding_window_view(spread, 2 * reach + 1)
    trace = _Trace(periods, reach, count)
    ends, peak, peak_at = np.zeros(count), 0.0, -1
    for t in range(count):
        if t >= stop and ends[t - stop] > peak:
            peak, peak_at = float(ends[t - stop]), t - stop
        before = onward[(t - periods) % most, steps]
        again = before < peak - _RESTART
        best = np.where(again, peak - _RESTART, before) + sets_in[t]
        spread[reach:-reach] = best
        options = window - cost
        trace.choice[t] = options.argmax(axis=1)
        trace.again[t], trace.peak_at[t], trace.top[t] = again, peak_at, best.argmax()
        onward[t % most] = options.max(axis=1)
        ends[t] = best.max()
    return trace.back(int(ends.argmax()))


class _Trace:
    """How the best chain to each moment and period came there."""

    def __init__(self, periods: I, reach: int, count: int) -> None:
        self._periods, self._reach = periods, reach
        #: Of the period before, as a step from the one that follows, 0 for the lowest.
        self.choice = np.zeros((count, len(periods)), np.int16)
        self.again = np.zeros((count, len(periods)), bool)
        self.peak_at, self.top = np.full(count, -1), np.zeros(count, np.intp)

    def back(self, t: int) -> I:
        """Return the chain that ends at a moment."""
        found, p = [t], int(self.top[t])
        while True:
            if self.again[t, p]:
                t = int(self.peak_at[t])
                if t < 0:
                    break
                p = int(self.top[t])
            else:
                t -= int(self._periods[p])
                if t < 0:
                    break
                p += int(self.choice[t, p]) - self._reach
            found.append(t)
        return np.array(found[::-1])


def _costs(periods: I, reach: int) -> F:
    """Return what it costs to come to each period (P,) from its neighbours (2 reach + 1)."""
    near = np.arange(len(periods))[:, None] + np.arange(-reach, reach + 1)
    before = periods[np.clip(near, 0, len(periods) - 1)]
    return np.asarray(_STIFF * np.log(before / periods[:, None]) ** 2)


def _places(chain: I, bass: F, bar: int) -> I:
    """Return the place of each beat in its bar: the first is where most bass sets in."""
    number = np.arange(len(chain))
    weight = np.array([bass[max(0, t - 3) : t + 5].sum() for t in chain])
    sums = np.bincount(number % bar, weight, minlength=bar)
    return np.asarray((number - int(sums.argmax())) % bar + 1)


def tempo_guesses(sound: Sound) -> tuple[float, float]:
    """Return two likely tempi (beats a minute), one twice the other, the slower first.

    Which of them people would tap can't be told from the sound.
    """
    sets_in, _, _ = flux(sound)
    most = min(len(sets_in) - 1, round(60 * PER_SECOND / SLOWEST))
    lags = np.arange(round(60 * PER_SECOND / QUICKEST), most)
    if len(lags) < 2:
        raise InputError(f"is {sound.seconds:.1f} s long, too short for four beats")
    same = np.array([(sets_in[lag:] * sets_in[:-lag]).mean() for lag in lags])
    # People tap most often near 120 a minute (Ellis 2007; log-normal, an octave wide [M]).
    tempo = 60 * PER_SECOND / lags
    best = float(tempo[int((same * np.exp(-0.5 * np.log2(tempo / 120) ** 2)).argmax())])
    return (best / 2, best) if best > 110 else (best, 2 * best)
