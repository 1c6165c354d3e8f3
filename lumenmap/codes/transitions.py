"""Transitions of light as WCAG 2.2 counts them: opposing changes between peaks and valleys.

Each class holds the state of many signals, so that a show can be processed block by block. A change
is counted at the frame where it becomes large enough, measured from the extreme before it.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

F = NDArray[np.float64]
B = NDArray[np.bool_]

#: Relative luminance of linear sRGB primaries [P].
LUMINANCE = np.array([0.2126, 0.7152, 0.0722])
#: Linear sRGB to CIE XYZ, as the definition of the red flash writes it [P].
TO_XYZ = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
#: A change counts from this part of the highest luminance, if its darker side is below the other.
CHANGE, DARKER = 0.10, 0.80
#: A saturated red has this part of its light in red; a red flash moves further than this in u'v'.
RED, RED_MOVE = 0.8, 0.2
#: Light below this counts as black. The definition leaves 0/0 open; here black to red and back is
#: a red flash, which is the cautious reading.
BLACK = 0.02
#: The u'v' of black here: far from every colour.
_FAR = 9.0
#: Colours that are worked on at once, in the processor's cache.
_AT_ONCE = 8192
#: Rounding must not decide whether 10 % is 10 %.
_SLACK = 1e-9


class GeneralTransitions:
    """Transitions of relative luminance of ``count`` signals."""

    def __init__(self, count: int) -> None:
        self._side = np.zeros(count, np.int8)
        self._low = np.full(count, np.inf)
        self._high = np.full(count, -np.inf)

    def events(self, light: F) -> B:
        """Return (T, S): the frames of light (T, S, 3) in which each signal makes a transition."""
        return self.of_luminance(light @ LUMINANCE)

    def of_luminance(self, luminance: F) -> B:
        """Return the same for relative luminance (T, S)."""
        found = np.zeros(luminance.shape, bool)
        for value, row in zip(luminance, found, strict=True):
            np.minimum(self._low, value, out=self._low)
            np.maximum(self._high, value, out=self._high)
            up = value - self._low >= CHANGE - _SLACK
            up &= self._low < DARKER
            up &= self._side <= 0
            down = self._high - value >= CHANGE - _SLACK
            down &= value < DARKER
            down &= self._side >= 0
            np.logical_or(up, down, out=row)
            if row.any():
                self._side[up], self._side[down] = 1, -1
                self._low[row] = self._high[row] = value[row]
        return found


class RedTransitions:
    """Transitions to and from saturated red of ``count`` signals."""

    def __init__(self, count: int) -> None:
        self._seen = False
        self._red = np.zeros(count, bool)
        self._u, self._v = np.zeros(count), np.zeros(count)
        self._far = np.zeros(count)

    def events(self, light: F) -> B:
        """Return (T, S): the frames of light (T, S, 3) in which each signal makes a transition."""
        u, v, red = chromaticity(light)
        # Distance from the red primary: the extremes of both sides are measured along it.
        home_u, home_v, _ = chromaticity(np.array([1.0, 0.0, 0.0]))
        far = np.hypot(u - home_u, v - home_v)
        if not self._seen:
            self._seen = True
            self._u[:], self._v[:], self._far[:], self._red[:] = u[0], v[0], far[0], red[0]
        found = np.zeros(red.shape, bool)
        if not red.any() and not self._red.any():
            self._keep(u, v, far)
            return found
        for i, row in enumerate(found):
            move = np.hypot(u[i] - self._u, v[i] - self._v) > RED_MOVE
            np.logical_and(move, red[i] != self._red, out=row)
            better = np.where(self._red, far[i] < self._far, far[i] > self._far)
            better &= red[i] == self._red
            better |= row
            if better.any():
                for kept, now in ((self._u, u), (self._v, v), (self._far, far)):
                    np.copyto(kept, now[i], where=better)
                np.copyto(self._red, red[i], where=row)
        return found

    def _keep(self, u: F, v: F, far: F) -> None:
        """Keep the point furthest from red, where nothing is or was red."""
        which = far.argmax(axis=0)
        columns = np.arange(far.shape[1])
        better = far[which, columns] > self._far
        for kept, now in ((self._u, u), (self._v, v), (self._far, far)):
            np.copyto(kept, now[which, columns], where=better)


def chromaticity(light: F) -> tuple[F, F, B]:
    """Return CIE 1976 u', v' of linear light (…, 3), and whether it is saturated red.

    Black has no chromaticity; it is put far from every colour and is not red.
    """
    flat = light.reshape(-1, 3)
    u, v, red = np.empty(len(flat)), np.empty(len(flat)), np.empty(len(flat), bool)
    for i in range(0, len(flat), _AT_ONCE):
        part = slice(i, i + _AT_ONCE)
        u[part], v[part], red[part] = _chromaticity(flat[part])
    shape = light.shape[:-1]
    return u.reshape(shape), v.reshape(shape), red.reshape(shape)


def _chromaticity(light: F) -> tuple[F, F, B]:
    # Channel by channel: numpy takes ten times as long to go through three numbers at a time.
    r, g, b = light.T
    x, y, z = TO_XYZ @ light.T
    whole = x + 15 * y + 3 * z
    dark = np.maximum(np.maximum(r, g), b) < BLACK
    whole[dark] = 1.0
    u = np.where(dark, _FAR, 4 * x / whole)
    v = np.where(dark, _FAR, 9 * y / whole)
    red = ~dark & (r >= (RED - _SLACK) * (r + g + b))
    return u, v, red
