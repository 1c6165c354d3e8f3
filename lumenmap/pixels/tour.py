"""The order in which one walks round a house: stretches of roofline, with the least way between.

Strategy: begin with the stretches by their bearing from the middle of the house, then shorten the
way between them by the two moves of textbooks on the travelling salesman: turn a part of the tour
round (2-opt), and move a short part elsewhere (Or-opt; Or 1976 [M]). Here a stop is a stretch that
may be run either way. Distances are rounded, so that every machine finds the same tour.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

F = NDArray[np.float64]
Order = list[tuple[int, bool]]

#: A longer part is moved as a series of shorter ones.
_LONGEST_MOVED = 3
#: Rounds of improvement, times the square of the stretches: 2,000 of them get one (some seconds).
_WORK = 4_000_000
#: Smaller gains are rounding (m).
_LEAST = 1e-5


def tour(lines: list[F]) -> Order:
    """Return the order of stretches round a house, counter-clockwise as seen from above.

    Parameters
    ----------
    lines
        Each stretch as points (K, 3), m.

    Returns
    -------
    list of (int, bool)
        Which stretch, and whether it is run from its end; it begins at the front left.
    """
    middle = _middle(lines)
    areas = np.array([_area(line, middle) for line in lines])
    mids = np.array([(line[0] + line[-1])[:2] / 2 for line in lines]) - middle
    bearing = (np.arctan2(mids[:, 1], mids[:, 0]) + 0.75 * np.pi) % (2 * np.pi)
    order = np.lexsort((np.arange(len(lines)), np.round(bearing, 6)))
    ends = np.array([(line[0], line[-1]) for line in lines])
    state = _State(ends, order, areas[order] < -1e-9)
    for _ in range(max(1, _WORK // len(lines) ** 2)):
        if not (_turn_parts(state) | _move_parts(state)):
            break
    return _begun(state, areas, np.minimum.reduce([line.min(axis=0) for line in lines]))


def _middle(lines: list[F]) -> F:
    """Return the middle of the plan (2,), behind a house that is drawn as a front only."""
    points = np.concatenate(lines)[:, :2]
    low, high = points.min(axis=0), points.max(axis=0)
    depth = max(high[1] - low[1], (high[0] - low[0]) / 4)
    return np.array([(low[0] + high[0]) / 2, low[1] + depth / 2])


def _area(line: F, middle: F) -> float:
    """Return twice the area that a stretch sweeps round the middle, counter-clockwise positive."""
    a, b = line[:-1, :2] - middle, line[1:, :2] - middle
    return float(np.sum(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]))


class _State:
    """A closed tour: where each stretch is entered (n, 3) and left (n, 3), in order."""

    def __init__(self, ends: F, order: NDArray[np.intp], flipped: NDArray[np.bool_]) -> None:
        self.ends = ends
        self.put(order, flipped)

    def put(self, order: NDArray[np.intp], flipped: NDArray[np.bool_]) -> None:
        self.order, self.flipped = order, flipped
        side = flipped.astype(int)
        self.enter, self.leave = self.ends[order, side], self.ends[order, 1 - side]

    def turned(self, first: int, last: int) -> None:
        """Turn round the part from ``first`` to ``last``, which is included."""
        part = slice(first, last + 1)
        order, flipped = self.order.copy(), self.flipped.copy()
        order[part], flipped[part] = order[part][::-1], ~flipped[part][::-1]
        self.put(order, flipped)


def _apart(a: F, b: F) -> F:
    step = a - b
    metres: F = np.sqrt(step[..., 0] ** 2 + step[..., 1] ** 2 + step[..., 2] ** 2)
    return np.round(metres, 6)


def _turn_parts(s: _State) -> bool:
    """Turn round each part of the tour that shortens it; return whether any did."""
    done, n = False, len(s.order)
    for i in range(n - 1):
        last = np.arange(i + 1, n)
        after = s.enter[(last + 1) % n]
        gain = _apart(s.leave[i], s.enter[i + 1]) + _apart(s.leave[last], after)
        gain = gain - _apart(s.leave[i], s.leave[last]) - _apart(s.enter[i + 1], after)
        best = int(np.argmax(gain))
        if gain[best] > _LEAST:
            s.turned(i + 1, int(last[best]))
            done = True
    return done


def _move_parts(s: _State) -> bool:
    """Move short parts of the tour to where they shorten it; return whether any was moved."""
    done, n = False, len(s.order)
    for size in range(1, min(_LONGEST_MOVED, n - 2) + 1):
        for i in range(n):
            done |= _move(s, np.arange(i, i + size) % n)
    return done


def _move(s: _State, part: NDArray[np.intp]) -> bool:
    """Move one part of the tour to the best place for it, either way round, if that is shorter."""
    n = len(s.order)
    rest = (part[-1] + 1 + np.arange(n - len(part))) % n
    order, flipped = s.order[rest], s.flipped[rest]
    enter, leave = s.enter[part[0]], s.leave[part[-1]]
    # The part stands before the first of the rest now; it could stand before each of them.
    before, after = s.leave[np.roll(rest, 1)], s.enter[rest]
    without = _apart(before, after)
    straight = _apart(before, enter) + _apart(leave, after) - without
    turned = _apart(before, leave) + _apart(enter, after) - without
    best = int(np.argmin(np.minimum(straight, turned)))
    if min(straight[best], turned[best]) >= straight[0] - _LEAST:
        return False
    own, own_flipped = s.order[part], s.flipped[part]
    if turned[best] < straight[best]:
        own, own_flipped = own[::-1], ~own_flipped[::-1]
    s.put(np.insert(order, best, own), np.insert(flipped, best, own_flipped))
    return True


def _begun(s: _State, areas: F, low: F) -> Order:
    """Return the tour counter-clockwise, begun at what is entered nearest the front left."""
    sweep = float(np.sum(np.where(s.flipped, -1, 1) * areas[s.order]))
    found = list(zip(s.order.tolist(), s.flipped.tolist(), strict=True))
    ways = [found, [(i, not f) for i, f in reversed(found)]]
    scale = 1e-6 * float(np.abs(areas).sum())
    if abs(sweep) > scale:
        ways = [ways[sweep < 0]]
    begun = []
    for way in ways:
        enter = np.array([s.ends[i, int(f)] for i, f in way])
        first = int(np.argmin(np.round(np.abs(enter[:, :2] - low[:2]).sum(axis=1), 6)))
        begun.append(way[first:] + way[:first])
    # Where it turns neither way, the first stretch runs to the right, as along a front's eave.
    return max(begun, key=lambda way: _rightward(s.ends, *way[0]))


def _rightward(ends: F, stretch: int, flipped: bool) -> float:
    step = float(ends[stretch, 1, 0] - ends[stretch, 0, 0])
    return round(-step if flipped else step, 6)
