"""Places that take turns: which pixels belong to each, and how much of each is lit at a time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lumenmap.motion import chance
from lumenmap.motion.ramp import Ramp
from lumenmap.motion.shapes import smooth
from lumenmap.motion.varying import Course, now, turned
from lumenmap.show.model import Turns

F = NDArray[np.float64]
Bool = NDArray[np.bool_]

#: A turn begins so much early (turns), so that a frame on its first moment belongs to it.
_EARLY = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class PlannedTurns:
    """Turns with the rows of each place among a layer's pixels."""

    turns: Turns
    places: tuple[NDArray[np.intp], ...]
    pixels: int
    seed: int

    def part(self, rows: NDArray[np.intp] | slice) -> PlannedTurns:
        """Return the same for some of the pixels."""
        whole = np.zeros((len(self.places), self.pixels), bool)
        for place, own in zip(whole, self.places, strict=True):
            place[own] = True
        here = whole[:, rows]
        found = tuple(np.flatnonzero(place) for place in here)
        return replace(self, places=found, pixels=here.shape[1])

    def lit(self, since: F) -> NDArray[np.float32]:
        """Return how much (T, n) each pixel is lit, 0..1, ``since`` (T, 1) s after the cue's start.

        A pixel that belongs to several places is lit when any of them is.
        """
        of_place = self._places_lit(since)
        out = np.zeros((len(since), self.pixels), np.float32)
        for k, rows in enumerate(self.places):
            out[:, rows] = np.maximum(out[:, rows], of_place[:, k, None])
        return out

    def begun(self, since: F) -> F:
        """Return the time (T, 1) since the turn at each moment began, s."""
        count = self._turn(since)
        whole = np.floor(count + _EARLY)
        return np.asarray(np.maximum(count - whole, 0) * now(self._every(since)))

    def _every(self, since: F) -> float | Course:
        every = self.turns.every
        assert every is not None
        return Course(every, since) if isinstance(every, Ramp) else every

    def _turn(self, since: F) -> F:
        """Return how many turns have passed (T, 1); 0 if no turn ends."""
        if self.turns.every is None:
            return np.zeros_like(since)
        return turned(self._every(since), since)

    def _places_lit(self, since: F) -> NDArray[np.float32]:
        """Return how much (T, places) each place is lit."""
        count = self._turn(since)
        step = np.floor(count + _EARLY)
        level = self._at_steps(step[:, 0])
        if self.turns.fade > 0 and self.turns.every is not None:
            done = smooth((count - step) * now(self._every(since)) / self.turns.fade)
            before = self._at_steps(step[:, 0] - 1)
            level = before + (level - before) * done
        return level.astype(np.float32)

    def _at_steps(self, steps: F) -> F:
        """Return which places (T, places) are lit, 0 or 1, at each whole number of turns."""
        known = {int(step): self._at(int(step)) for step in set(steps.tolist())}
        return np.array([known[int(step)] for step in steps]).reshape(len(steps), -1)

    def _at(self, step: int) -> F:
        turns, count = self.turns, len(self.places)
        round_ = _round(turns, count)
        if step < 0 and (turns.rounds or turns.lit != "one"):
            return np.zeros(count)  # before the first turn of all
        if turns.rounds and step >= turns.rounds * len(round_):
            if turns.then == "dark":
                return np.zeros(count)
            step = turns.rounds * len(round_) - 1
        number, place = divmod(step, len(round_))
        order = np.arange(count)
        if turns.order == "by lot":
            order = np.argsort(chance.share(chance.key(self.seed, number, order)), kind="stable")
        lit = np.zeros(count)
        lit[order[round_[place]]] = 1
        return lit


def _round(turns: Turns, count: int) -> list[range]:
    """Return which places of the order are lit in each turn of one round."""
    if turns.lit == "one":
        steps = [range(i, i + 1) for i in range(count)]
    elif turns.lit == "one more":
        first = 1 if turns.first is None else turns.first
        steps = [range(number) for number in range(first, count + 1)]
    else:
        first = count if turns.first is None else turns.first
        steps = [range(count - number, count) for number in range(first, -1, -1)]
    # On the way back, what is at either end has no second turn.
    return steps + steps[-2:0:-1] if turns.order == "to and fro" else steps


def in_parts(along: F, parts: int, gap: float = 0.0) -> list[Bool]:
    """Return which of N places belong to each of so many equal parts of their way.

    Parameters
    ----------
    along
        (N,) 0..1 of the way.
    gap
        The share of each part that belongs to none, half of it at either end.
    """
    number = np.clip(np.floor(along * parts + 1e-9), 0, parts - 1)
    inside = np.abs(along * parts - number - 0.5) <= (1 - gap) / 2 + 1e-9
    return [(number == k) & inside for k in range(parts)]


def rows_of(places: Sequence[Bool], lit: Bool) -> tuple[NDArray[np.intp], ...]:
    """Return the rows of each place among the pixels (N,) that a layer lights."""
    return tuple(np.flatnonzero(place[lit]) for place in places)
