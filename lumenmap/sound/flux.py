"""How much sound sets in at each moment: the spectral flux.

Sources: S. Böck, G. Widmer, "Maximum filter vibrato suppression for onset detection", DAFx 2013,
for logarithmic bands and positive differences [M]; D. P. W. Ellis, "Beat Tracking by Dynamic
Programming", Journal of New Music Research 36(1), 2007, for its use [M].
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter1d
from scipy.signal import get_window

from lumenmap.core.errors import InputError
from lumenmap.sound.read import Sound

F = NDArray[np.float64]

#: Moments a second.
PER_SECOND = 100.0
#: Length of the window (s), and bands of hearing that are added up.
_WINDOW, _BANDS = 0.046, 40
_LOWEST, _BASS = 40.0, 150.0
#: Gain before the logarithm: from here on, louder counts little more.
_GAIN = 1000.0
#: Frames that are transformed at once.
_AT_ONCE = 2048


def flux(sound: Sound) -> tuple[F, F, F]:
    """Return what sets in at each moment, what of it is bass, and how loud it is: (T,) each.

    The first has mean 0 and deviation 1 over the piece, and is even over loud and soft stretches.

    Raises
    ------
    InputError
        It is shorter than a beat of any tempo.
    """
    hop, size = sound.rate / PER_SECOND, 2 ** int(np.log2(_WINDOW * sound.rate) + 0.5)
    count = int(len(sound.samples) / hop)
    if count < 2:
        raise InputError(f"is {sound.seconds:.1f} s long, too short for four beats")
    padded = np.pad(sound.samples, size // 2)
    starts = (np.arange(count) * hop).astype(int)
    bands, bass = _bands(size, sound.rate)
    window = get_window("hann", size).astype(np.float32)
    rows, loud = np.empty((count, bands.shape[1])), np.empty(count)
    for i in range(0, count, _AT_ONCE):
        some = padded[starts[i : i + _AT_ONCE, None] + np.arange(size)] * window
        loud[i : i + _AT_ONCE] = np.sqrt((some.astype(np.float64) ** 2).mean(axis=1))
        rows[i : i + _AT_ONCE] = np.abs(np.fft.rfft(some, axis=1)) @ bands
    rows = np.log1p(_GAIN * rows / max(float(rows.max()), 1e-12))
    rise = np.maximum(np.diff(rows, axis=0, prepend=rows[:1]), 0)
    whole = gaussian_filter1d(rise.sum(axis=1), 1.5)
    around = gaussian_filter1d(whole, 1.5 * PER_SECOND)
    level = np.sqrt(gaussian_filter1d((whole - around) ** 2, 4 * PER_SECOND))
    even = (whole - around) / (level + 0.1 * whole.std() + 1e-9)
    even = (even - even.mean()) / (even.std() + 1e-9)
    return np.asarray(even), rise[:, bass].sum(axis=1), loud


def _bands(size: int, rate: float) -> tuple[F, NDArray[np.bool_]]:
    """Return weights (bins, bands) of logarithmic bands, and which of these are bass."""
    edges = np.geomspace(_LOWEST, 0.45 * rate, _BANDS + 2)
    bins = np.fft.rfftfreq(size, 1 / rate)
    table = np.stack(
        [
            np.interp(bins, edges[k : k + 3], [0.0, 1.0, 0.0], left=0, right=0)
            for k in range(_BANDS)
        ],
        -1,
    )
    kept = table.sum(axis=0) > 0  # low bands may lie between two bins
    return table[:, kept], edges[1:-1][kept] < _BASS
