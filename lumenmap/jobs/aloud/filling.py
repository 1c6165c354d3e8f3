"""`Filling`: the samples that are to be heard at a given moment, so that sound stays with light.

Strategy: frames are due by the clock, so samples are too. What follows what was played last is
played on; only if that is more than a little off does it jump: the device's clock runs at a rate of
its own, and a busy machine skips.
"""

from __future__ import annotations

import math
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]

#: Sound this far off the light is put right (s): less isn't noticed (ITU-R BT.1359-1 finds 45 ms of
#: early and 125 ms of late sound just noticeable [M]), and jumps are heard as clicks.
APART = 0.03


class Source(Protocol):
    """An open sound file, as soundfile has it."""

    @property
    def samplerate(self) -> int:
        """Samples a second."""
        ...

    @property
    def frames(self) -> int:
        """How many samples it has."""
        ...

    def seek(self, frames: int) -> int:
        """Go to a sample."""
        ...

    def read(self, frames: int, dtype: str, always_2d: bool) -> Any:
        """Read samples (frames, channels) from there."""
        ...


class Filling:
    """Fills blocks with the samples of a show's sound.

    Parameters
    ----------
    source
        The sound, open.
    begun
        The moment (s of a clock) at which the show began.
    seconds
        How long the show is. In a ``loop`` the sound begins anew with it.
    """

    def __init__(self, source: Source, begun: float, seconds: float, loop: bool) -> None:
        self._source, self._begun, self._loop = source, begun, loop
        self._rate = source.samplerate
        self._length = max(1, round(seconds * self._rate))  # of the show, in samples
        self._next = -math.inf  # what follows what was played last
        self._read = -1  # where the file stands
        #: How often it had to jump.
        self.jumps = 0

    def fill(self, out: Samples, heard: float) -> None:
        """Fill ``out`` (n, channels) with what is to be heard from the moment ``heard`` on."""
        due = (heard - self._begun) * self._rate
        if abs(due - self._next) > APART * self._rate:
            self.jumps += self._next > -math.inf
            self._next = round(due)
        out[:] = 0
        done = min(len(out), max(0, -int(self._next)))  # the show hasn't begun yet
        while done < len(out):
            at = int(self._next) + done
            if at >= self._length and not self._loop:
                break
            place = at % self._length
            count = min(len(out) - done, self._length - place)
            self._copy(out[done : done + count], place)
            done += count
        self._next += len(out)

    def _copy(self, out: Samples, place: int) -> None:
        """Copy samples from a place of the file; beyond its end it is silent."""
        count = min(len(out), self._source.frames - place)
        if count <= 0:
            return
        if place != self._read:
            self._source.seek(place)
        found = self._source.read(count, dtype="float32", always_2d=True)
        channels = min(found.shape[1], out.shape[1])
        out[: len(found), :channels] = found[:, :channels]
        self._read = place + len(found)
