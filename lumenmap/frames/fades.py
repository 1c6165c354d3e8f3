"""Brightness over time: the fades of a cue."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.motion.easing import linear
from lumenmap.motion.shapes import luminance
from lumenmap.show.model import Cue

F = NDArray[np.float64]


def fades(cue: Cue, t: F) -> F:
    """Return a cue's brightness 0..1 at times ``t`` (T, 1) s: 0 outside the cue.

    A fade-out is 1 minus the fade-in's curve, so that a cue that fades out while another fades in
    adds up to 1 all the way. Fades that look even don't: each by itself goes to dark and from it.
    """
    since, left = t - cue.start, cue.start + cue.length - t
    gain = ((since >= -1e-9) & (left > 1e-9)).astype(np.float64)
    if cue.fade_in > 0:
        gain *= _seen(cue, cue.easing(_share(since, cue.fade_in)))
    if cue.fade_out > 0:
        gain *= _seen(cue, 1 - cue.easing(1 - _share(left, cue.fade_out)))
    return gain


def full(cue: Cue, t: F) -> bool:
    """Return whether a cue is fully bright at all of the rising times ``t`` (T, 1) s.

    Quicker than its fades; False also where an easing might end elsewhere than at 1.
    """
    fade_in, fade_out = max(cue.fade_in, 0.0), max(cue.fade_out, 0.0)
    since = float(t[0, 0]) - cue.start
    left = cue.start + cue.length - float(t[-1, 0])
    known = cue.easing is linear or fade_in == fade_out == 0
    return known and since >= fade_in and left >= fade_out and left > 1e-9


def _share(passed: F, length: float) -> F:
    """Return 0..1; clipped before the division, so that the shortest fade doesn't overflow."""
    return np.asarray(np.clip(passed, 0, length) / length)


def _seen(cue: Cue, part: F) -> F:
    part = np.clip(part, 0, 1)
    return luminance(part) if cue.even else part
