"""Sound files read to one channel: WAV, FLAC, Ogg and MP3, by soundfile (libsndfile)."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.extras import install
from lumenmap.core.regular import open_regular

if TYPE_CHECKING:
    from soundfile import SoundFile

#: A longer file is a recording of an evening, not a piece to set light to (s).
LONGEST_SECONDS = 30 * 60.0
#: Quieter than this (of full scale) everywhere is silence: -60 dB.
SILENT = 1e-3
#: Louder than this (of full scale) is no sound: 120 dB over what a file of whole numbers can hold.
LOUDEST = 1e6
#: More samples a second tell no more about beats.
RATE = 22_050


@dataclass(frozen=True, slots=True, eq=False)
class Sound:
    """Samples (N,) float32, -1..1, of one channel, and how many a second."""

    samples: NDArray[np.float32]
    rate: float

    @property
    def seconds(self) -> float:
        """Its length, s."""
        return len(self.samples) / self.rate


def read_sound(path: Path) -> Sound:
    """Read a sound file; its channels are averaged.

    Raises
    ------
    InputError
        It isn't sound, is silent, or is longer than half an hour; or soundfile isn't installed.
    """
    with opened(path) as file:
        return _read(file, path)


def seconds_of(path: Path) -> float:
    """Return how long a sound file is, s.

    Raises
    ------
    InputError
        It isn't sound, or is longer than half an hour; or soundfile isn't installed.
    """
    with opened(path) as file:
        return _seconds(file, path)


@contextlib.contextmanager
def opened(path: Path) -> Iterator[SoundFile]:
    """Open a sound file that a person named.

    Raises
    ------
    InputError
        It isn't sound; or soundfile isn't installed.
    """
    try:
        import soundfile
    except ImportError:
        raise InputError(f"reading sound needs soundfile: {install('sound')}", file=path) from None
    try:
        with open_regular(path) as file, soundfile.SoundFile(file) as found:
            yield found
    except FileNotFoundError:
        raise InputError("no such file", file=path) from None
    except IsADirectoryError:
        raise InputError("is a folder; expected a sound file", file=path) from None
    except OSError as error:
        raise InputError(f"can't be read: {error.strerror or error}", file=path) from None
    except soundfile.LibsndfileError:
        raise InputError("isn't sound; expected WAV, FLAC, Ogg or MP3", file=path) from None


def _seconds(file: SoundFile, path: Path) -> float:
    seconds = float(file.frames / file.samplerate)
    if seconds > LONGEST_SECONDS:
        raise InputError(
            f"is {seconds / 60:.0f} min long; expected {LONGEST_SECONDS / 60:.0f} min or less: "
            "cut out the piece that the show plays",
            file=path,
        )
    return seconds


def _read(file: SoundFile, path: Path) -> Sound:
    """Read an open file a second at a time, thinned out as it comes."""
    _seconds(file, path)
    rate = float(file.samplerate)
    every = max(1, round(rate / RATE))
    parts = []
    for block in file.blocks(int(rate) // every * every, dtype="float32", always_2d=True):
        # A file of floats may hold what is no number, and numbers whose sum is none.
        if not (np.abs(block) < LOUDEST).all():
            raise InputError("is damaged: some of its samples aren't sound", file=path)
        parts.append(_thinned(block.mean(axis=1), every))
    samples = np.concatenate(parts) if parts else np.zeros(0, np.float32)
    if np.abs(samples).max(initial=0) < SILENT:
        raise InputError("is silent; there are no beats in it", file=path)
    return Sound(samples, rate / every)


def _thinned(block: NDArray[np.float32], every: int) -> NDArray[np.float32]:
    """Return the mean of each ``every`` samples, which is filter enough for beats."""
    whole = block[: len(block) // every * every].reshape(-1, every)
    mean: NDArray[np.float32] = whole.mean(axis=1, dtype=np.float32)
    return mean
