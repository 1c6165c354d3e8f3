"""Beats that were found in a piece of music: from times to beats, and back.

A show that counts in them has a time of its own, in which every beat is as long: `Beats.even` of a
moment is where that time stands then. So whatever happens "every beat" happens on the beats that
were played, however they breathe.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.wording import some

F = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Beats:
    """Times (s), rising, of two or more beats; the place of each in its bar, counted from 1."""

    times: F
    places: NDArray[np.intp]

    @cached_property
    def beat(self) -> float:
        """The usual length of a beat, s: the median, which a pause doesn't change."""
        return float(np.median(np.diff(self.times)))

    def count(self, t: F | float) -> F:
        """Return how many beats after the first one the moments ``t`` (any shape, s) are.

        Before the first beat and after the last, beats have their usual length.
        """
        t = np.asarray(t, np.float64)
        inside = np.interp(t, self.times, np.arange(len(self.times), dtype=np.float64))
        outside = np.minimum(t - self.times[0], 0) + np.maximum(t - self.times[-1], 0)
        return np.asarray(inside + outside / self.beat)

    def moment(self, count: F | float) -> F:
        """Return the times (s) at which so many beats have passed since the first one."""
        count, last = np.asarray(count, np.float64), len(self.times) - 1
        inside = np.interp(count, np.arange(last + 1, dtype=np.float64), self.times)
        outside = np.minimum(count, 0) + np.maximum(count - last, 0)
        return np.asarray(inside + outside * self.beat)

    def even(self, t: F | float) -> F:
        """Return the time (s) since the first beat if every beat had its usual length."""
        return self.count(t) * self.beat

    def bar(self, number: int) -> int:
        """Return how many beats after the first one a bar begins; bars count from 1.

        Raises
        ------
        InputError
            There are fewer bars.
        """
        begins = np.flatnonzero(self.places == 1)
        if not 1 <= number <= len(begins):
            raise InputError(f"no bar {number}; the beats found make {some(len(begins), 'bar')}")
        return int(begins[number - 1])
