"""Brightness over time: the fades of a cue and the envelope of a layer."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.show.model import Cue, Envelope

F = NDArray[np.float64]


def fades(cue: Cue, t: F) -> F:
    """Return a cue's brightness 0..1 at times ``t`` (T, 1) s: 0 outside the cue."""
    since, left = t - cue.start, cue.start + cue.length - t
    gain = ((since >= -1e-9) & (left > 1e-9)).astype(np.float64)
    eased = cue.easing
    for share, length in ((since, cue.fade_in), (left, cue.fade_out)):
        if length > 0:
            # Clipped first: even the shortest fade there is doesn't overflow.
            gain *= np.clip(eased(np.clip(share, 0, length) / length), 0, 1)
    return gain


def level(envelope: Envelope, since: F) -> F:
    """Return an envelope's brightness 0..1, ``since`` (T, 1) s after its cue's start."""
    at, levels = np.array(envelope.at), np.array(envelope.level)
    if envelope.repeat:
        since = since % at[-1]
    piece = np.clip(np.searchsorted(at, since, side="right") - 1, 0, len(at) - 2)
    span = at[piece + 1] - at[piece]
    part = np.clip(since - at[piece], 0, span) / span
    eased = envelope.easing(part)
    return np.asarray(np.clip(levels[piece] + (levels[piece + 1] - levels[piece]) * eased, 0, 1))
