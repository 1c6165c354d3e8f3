"""`KeptLuminance`: the luminance of a show, kept to be looked at again once its brightest is known.

Strategy: two bytes a pixel and frame, in memory while that is little, then in a temporary file, so
that memory stays flat however long the show is.
"""

from __future__ import annotations

import tempfile
import weakref
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

F = NDArray[np.float64]

#: Kept in memory up to here (bytes).
_IN_MEMORY = 32 << 20
#: Bytes read back at once.
_BLOCK = 4 << 20
#: Light is kept in these steps, up to four times full: a white die outshines the coloured ones.
_STEPS, _MOST = 16384, 65535
#: So many pixels at once must be as bright for the show to count as that bright: one glint must
#: not hide that the rest of the house flashes (our own choice, no source).
TOGETHER = 8


class KeptLuminance:
    """Relative luminance (T, N) of a show, 0..1 of full light."""

    def __init__(self) -> None:
        # The system deletes it even if the program is killed.
        self._file = tempfile.SpooledTemporaryFile(max_size=_IN_MEMORY)  # noqa: SIM115
        weakref.finalize(self, self._file.close)
        self._pixels = 0
        #: The most that `TOGETHER` pixels get to at once.
        self.brightest = 0.0

    def add(self, luminance: F) -> None:
        """Keep the next frames (T, N)."""
        if not luminance.size:
            return
        self._pixels = luminance.shape[1]
        nth = min(TOGETHER, self._pixels)
        bright = np.partition(luminance, self._pixels - nth, axis=1)[:, self._pixels - nth]
        self.brightest = max(self.brightest, float(bright.max()))
        self._file.write(np.minimum(np.rint(luminance * _STEPS), _MOST).astype(np.uint16).tobytes())

    def blocks(self) -> Iterator[F]:
        """Yield what was kept, in order, as blocks of frames."""
        self._file.seek(0)
        frame = 2 * self._pixels
        while data := self._file.read(max(1, _BLOCK // max(1, frame)) * frame):
            yield np.frombuffer(data, np.uint16).reshape(-1, self._pixels) / _STEPS
