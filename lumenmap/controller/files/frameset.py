"""Reads exported frames back: checked, then mapped into memory without a copy."""

from __future__ import annotations

import hashlib
import os
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.controller.files.sidecar import read_sidecar
from lumenmap.core.errors import CheckError, InputError
from lumenmap.core.folders.output_set import finish_interrupted
from lumenmap.core.regular import open_regular


@dataclass(frozen=True, slots=True)
class FrameLine:
    """The pixels of one data line in each frame, and the order of their channels on the wire."""

    name: str
    first: int
    count: int
    universe: int
    order: str


@dataclass(frozen=True, slots=True, eq=False)
class FrameSet:
    """A show as bytes.

    Attributes
    ----------
    codes
        (T, N, C) uint8 in wire order, as the controller sends them.
    fps
        Frames/s.
    lines
        The data lines and their pixels.
    sha256
        Checksum of the bytes, hexadecimal.
    house
        The house file that they are played on, if it is known.
    meta
        Everything in ``frames.json``.
    sound
        The sound file that the show plays to, if it has one and it is known.
    """

    codes: NDArray[np.uint8]
    fps: float
    lines: tuple[FrameLine, ...]
    sha256: str = ""
    house: Path | None = None
    meta: dict[str, Any] = field(default_factory=dict)
    sound: Path | None = None

    @property
    def channels(self) -> int:
        """Channels per pixel."""
        return int(self.codes.shape[2])

    @property
    def brightness(self) -> float:
        """What the show's light was multiplied by before it was rounded, 0..1."""
        return float(self.meta.get("brightness", 1.0))

    @property
    def seconds(self) -> float:
        """Length, s."""
        return len(self.codes) / self.fps

    def flat(self) -> NDArray[np.uint8]:
        """Return the codes as (T, N·C), a row per frame."""
        return self.codes.reshape(len(self.codes), -1)

    def held(self, most: int) -> FrameSet:
        """Return it with its codes in memory, needing no disk, unless they have over ``most`` B."""
        if self.codes.nbytes > most:
            return self
        return replace(self, codes=np.array(self.codes))


def open_frames(folder: Path | str, *, verify: bool = True) -> FrameSet:
    """Open ``frames.rgb`` and ``frames.json`` in a folder.

    Parameters
    ----------
    verify
        Read all bytes once and compare their checksum.

    Raises
    ------
    InputError
        Missing files, files of another kind, or files that contradict each other.
    CheckError
        The bytes have changed since they were written.
    """
    folder = Path(folder)
    if folder.is_dir():
        finish_interrupted(folder)
    data, side = folder / "frames.rgb", folder / "frames.json"
    sidecar, meta = read_sidecar(side)
    size = sidecar.frames * sidecar.pixels * sidecar.channels
    try:
        with open_regular(data) as opened:
            found = opened.seek(0, os.SEEK_END)
        if found != size:
            raise InputError(
                f"has {found} bytes; {sidecar.frames} frames × {sidecar.pixels} pixels × "
                f"{sidecar.channels} channels need {size}",
                file=data,
            )
        codes = np.memmap(
            data, np.uint8, "r", shape=(sidecar.frames, sidecar.pixels, sidecar.channels)
        )
    except OSError as error:
        raise InputError(f"can't be read: {error.strerror or error}", file=data) from None
    if verify and hashlib.sha256(codes.data).hexdigest() != sidecar.sha256:
        raise CheckError(
            f"{data.name}: has changed since {side.name} was written: its SHA-256 differs. "
            "Export the show again"
        )
    lines = tuple(FrameLine(x.name, x.first, x.count, x.universe, x.order) for x in sidecar.lines)
    return FrameSet(codes, sidecar.fps, lines, sidecar.sha256, meta=meta)
