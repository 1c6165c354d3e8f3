"""Options that may change while an effect runs: what an effect gets, and how it asks.

An option whose type is `Varying` is a plain number, or a `Course` if a show gives a ramp for it. An
effect doesn't look which; it asks one of the functions below::

    moved(speed, t)      how far something has gone, in place of speed * t
    turned(period, t)    how many periods have passed, in place of t / period
    now(level)           the value at each frame, in place of level
    value_at(rate, when) the value at other times, of any shape
    reached(period, n)   the time at which n periods have passed
    highest(tail)        the highest value of all, for what must be one number; or lowest
    steps(t, lit, taper) runs of frames and their numbers, for what is drawn into tables

With a plain number each is that plain formula, and costs nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise, repeat
from typing import Any, cast

import numpy as np
from numpy.typing import NDArray

from lumenmap.motion.kept import read_only
from lumenmap.motion.ramp import Ramp

F = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Course:
    """A ramp over the frames of one block.

    Attributes
    ----------
    ramp
        Its values, by the time since the cue's start.
    since
        (T, 1) s since the cue's start, for each frame.
    pace
        How fast the layer's own time runs.
    late
        s from the cue's start to the moment at which the layer's own time is 0.
    """

    ramp: Ramp
    since: F
    pace: float = 1.0
    late: float = 0.0

    @cached_property
    def values(self) -> F:
        """(T, 1) the value at each frame, worked out once, read-only."""
        return read_only(self.ramp(self.since))

    @cached_property
    def stepped(self) -> tuple[F, NDArray[np.bool_]]:
        """The values in steps too small to see, as `Ramp.stepped` has them."""
        return self.ramp.stepped(self.since, self.values)


#: The type of an option that may vary: a number, or a ramp's course.
Varying = float | Course


def now(value: Varying) -> float | F:
    """Return the value at each frame: the number itself, or (T, 1)."""
    return value.values if isinstance(value, Course) else value


def moved(speed: Varying, t: F) -> F:
    """Return the distance gone (T, 1) at times ``t`` (T, 1): the integral of the speed."""
    if isinstance(speed, Course):
        return speed.ramp.to[0] * t + speed.pace * _gained(speed, inverse=False)
    return speed * t


def turned(period: Varying, t: F) -> F:
    """Return how many periods have passed (T, 1) at times ``t`` (T, 1)."""
    if isinstance(period, Course):
        return t / period.ramp.to[0] + period.pace * _gained(period, inverse=True)
    return t / period


def _gained(course: Course, inverse: bool) -> F:
    # From where the layer's own time is 0, so that there nothing has moved.
    start = np.array(course.late)
    return course.ramp.gained(course.since, inverse) - course.ramp.gained(start, inverse)


def reached(period: Varying, count: float) -> F:
    """Return the time () of the layer's own clock at which ``count`` periods have passed."""
    if not isinstance(period, Course):
        return np.asarray(count * period)
    if period.pace == 0:  # none ever passes
        return np.zeros(())
    low, high = sorted((count * lowest(period), count * highest(period)))
    for _ in range(60):  # halved so often, it is exact to the last bits
        middle = np.full((1, 1), (low + high) / 2)
        there = replace(period, since=middle / period.pace + period.late)
        if turned(there, middle)[0, 0] < count:
            low = float(middle[0, 0])
        else:
            high = float(middle[0, 0])
    return np.asarray(high)


def value_at(value: Varying, t: F) -> float | F:
    """Return the value at other times ``t`` (any shape) of the layer's own clock, s."""
    if isinstance(value, Course):
        return value.ramp(t / value.pace + value.late if value.pace else value.late + 0 * t)
    return value


def highest(value: Varying) -> float:
    """Return the highest value that an option takes."""
    return value.ramp.most if isinstance(value, Course) else value


def lowest(value: Varying) -> float:
    """Return the lowest value that an option takes."""
    return value.ramp.least if isinstance(value, Course) else value


def steps(
    t: F, *values: Varying | NDArray[np.bool_]
) -> Iterator[tuple[slice, bool, tuple[float, ...]]]:
    """Cut a block into runs of frames in which all values stay the same.

    A ramp is taken in steps too small to see. A value may also be one of its own for each frame,
    (T, 1). Plain numbers give one run of all frames.

    Yields
    ------
    slice, bool, tuple of float
        The frames; whether one of the values is a step that a ramp only passes; the values.
    """
    if not any(isinstance(value, (Course, np.ndarray)) for value in values):
        yield slice(0, len(t)), False, cast(tuple[float, ...], values)
        return
    each: list[Any] = list(values)
    passing = np.zeros((len(t), 1), bool)
    for i, value in enumerate(values):
        if isinstance(value, Course):
            each[i], own = value.stepped
            passing |= own
    first = [rows.start for rows in alike(len(t), passing, *(v for v in each if _many(v)))]
    columns = (v[first, 0].tolist() if _many(v) else repeat(v, len(first)) for v in each)
    brief = passing[first, 0].tolist()
    for start, stop, own, *numbers in zip(
        first, [*first[1:], len(t)], brief, *columns, strict=True
    ):
        yield slice(start, stop), own, tuple(numbers)


def _many(value: Any) -> bool:
    return isinstance(value, np.ndarray)


def alike(count: int, *values: NDArray[np.generic]) -> Iterator[slice]:
    """Return runs of the ``count`` frames in which each of the values (T, 1) stays the same."""
    changed = np.zeros(max(count - 1, 0), bool)
    for one in values:
        changed |= one[1:, 0] != one[:-1, 0]
    for first, last in pairwise([0, *(np.flatnonzero(changed) + 1).tolist(), count]):
        yield slice(first, last)
