"""Beats in words and numbers, for people who check what was found."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np

from lumenmap.motion.beats import Beats

#: Beats over which a tempo is taken, so that one loose beat doesn't count as another tempo.
_OVER = 8
#: A beat so many times as long as usual is a pause.
_PAUSE = 1.8


def report(found: Beats) -> dict[str, Any]:
    """Return the beats as numbers: times in s, tempi in beats a minute."""
    slowest, quickest = _tempi(found)
    return {
        "beats": len(found.times),
        "bars": int((found.places == 1).sum()),
        "tempo": round(60 / found.beat, 1),
        "slowest": round(slowest, 1),
        "quickest": round(quickest, 1),
        "pauses": [[round(a, 3), round(b, 3)] for a, b in _pauses(found)],
        "times": [round(t, 3) for t in found.times.tolist()],
        "places": found.places.tolist(),
    }


def sentences(found: Beats, about: float | None = None) -> list[str]:
    """Return the beats as sentences; ``about`` is the tempo that they were expected to have."""
    said, times = report(found), found.times
    tempo = f"{said['tempo']:g} a minute"
    if said["quickest"] > 1.05 * said["slowest"]:
        tempo += f", from {said['slowest']:.0f} to {said['quickest']:.0f}"
    lines = [
        f"{said['beats']} beats in {said['bars']} bars, from {times[0]:.2f} s to {times[-1]:.2f} s",
        tempo,
    ]
    first = np.flatnonzero(found.places == 1)
    if len(first):
        lines.append(f"bar 1 begins at {times[first[0]]:.2f} s, on beat {first[0] + 1}")
    lines += [f"a pause from {a:.2f} s to {b:.2f} s" for a, b in said["pauses"]]
    if about is not None and abs(said["tempo"] / about - 1) > 0.1:
        lines.append(f"that isn't the tempo you gave, {about:g} a minute: check by ear")
    return lines


def _tempi(found: Beats) -> tuple[float, float]:
    """Return the slowest and the quickest tempo over a few beats, without pauses."""
    steps = np.diff(found.times)
    steps = steps[steps < _PAUSE * found.beat]
    if not len(steps):
        return 60 / found.beat, 60 / found.beat
    over = min(_OVER, len(steps))
    means = np.convolve(steps, np.full(over, 1 / over), "valid")
    return float(60 / means.max()), float(60 / means.min())


def _pauses(found: Beats) -> list[tuple[float, float]]:
    return [(a, b) for a, b in pairwise(found.times.tolist()) if b - a >= _PAUSE * found.beat]
