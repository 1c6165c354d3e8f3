"""Reads exported frames back: checked, then mapped into memory without a copy."""

from __future__ import annotations

import hashlib
import json
import math
import os
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import ConfigDict, Field

from lumenmap.controller.files.frames import FORMAT, VERSION
from lumenmap.core.errors import CheckError, InputError
from lumenmap.core.folders.output_set import finish_interrupted
from lumenmap.core.names import Sentence, Title
from lumenmap.core.regular import open_regular, read_regular
from lumenmap.core.toml.reading import LARGEST
from lumenmap.core.toml.tables import Table, check


class SidecarLine(Table):
    """``lines``: a data line's part of every frame; the lines follow each other."""

    name: Title = Field(description="The line's name in the house file.")
    first: int = Field(ge=0, description="Its first pixel in the frame, counted from 0.")
    count: int = Field(ge=0, description="How many pixels it has.")
    universe: int = Field(description="Its first E1.31 universe.")
    order: str = Field(
        pattern="^[RGBW]{3,4}$", description="The order of its channels in frames.rgb: GRB, RGBW…"
    )


class Sidecar(Table):
    """``frames.json``: what the bytes of frames.rgb are."""

    # A later version may add keys.
    model_config = ConfigDict(extra="ignore", strict=True, frozen=True)

    format: Literal["lumenmap-frames"] = Field(description="Says what the file is.")
    version: int = Field(description="Version of this format.")
    frames: int = Field(ge=1, description="How many frames there are.")
    fps: float = Field(gt=0, le=1000, description="Frames a second.")
    pixels: int = Field(ge=1, description="Pixels in a frame, over all lines.")
    channels: Literal[3, 4] = Field(description="Bytes of a pixel.")
    lines: list[SidecarLine] = Field(min_length=1, description="The data lines, in order.")
    sha256: str = Field(description="SHA-256 of frames.rgb, in hexadecimal.")
    brightness: float = Field(
        1.0, gt=0, le=1, description="What the show's light was multiplied by; 1 if left out."
    )
    house: str | None = Field(None, description="The name of the house that they were made for.")
    house_sha256: str = Field("", description="SHA-256 of its file, in hexadecimal.")
    flashing: list[Sentence] = Field(
        default_factory=list, description="Where it flashes more than three times a second."
    )
    flashing_because: Sentence = Field("", description="Why it may, as its show file says.")


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
    meta = _load_json(side)
    sidecar = check(Sidecar, meta, side, {})
    if sidecar.version != VERSION:
        raise InputError(
            f"is {FORMAT} version {sidecar.version}; expected version {VERSION}",
            file=side,
            key="version",
        )
    if not math.isfinite(sidecar.fps):
        raise InputError("isn't finite", file=side, key="fps")
    _check_lines(sidecar.lines, sidecar.pixels, sidecar.channels, side)
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


def _load_json(side: Path) -> dict[str, Any]:
    try:
        meta = json.loads(read_regular(side, LARGEST, "a description of frames"))
    except OSError as error:
        raise InputError(f"can't be read: {error.strerror or error}", file=side) from None
    except (ValueError, RecursionError) as error:
        raise InputError(f"isn't JSON: {error}", file=side) from None
    if not isinstance(meta, dict):
        raise InputError("is JSON, but not an object with keys", file=side)
    return meta


def _check_lines(lines: Sequence[SidecarLine], pixels: int, channels: int, side: Path) -> None:
    """Check that the lines follow each other and cover all the pixels."""
    at = 0
    for i, line in enumerate(lines):
        if line.first != at:
            raise InputError(
                f"starts at pixel {line.first}, but the lines before it end at pixel {at}",
                file=side,
                key=f"lines item {i + 1}",
            )
        if sorted(line.order) != sorted("RGBW"[:channels]):
            raise InputError(
                f'order is "{line.order}", but a pixel has {channels} channels',
                file=side,
                key=f"lines item {i + 1}",
            )
        at += line.count
    if at != pixels:
        raise InputError(
            f"the lines have {at} pixels in all, but pixels is {pixels}", file=side, key="lines"
        )
