"""``frames.json``: what the bytes of frames.rgb are, and how it is read, by whoever reads it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Literal

from pydantic import ConfigDict, Field

from lumenmap.controller.files.frames import FORMAT, VERSION
from lumenmap.core.errors import InputError
from lumenmap.core.names import CHANNELS, Sentence, Title
from lumenmap.core.regular import read_regular
from lumenmap.core.toml.tables import Table, check

#: Bytes of a description at the most: it names every budget of a house of 100,000 pixels.
LARGEST = 5_000_000


class SidecarLine(Table):
    """``lines``: a data line's part of every frame; the lines follow each other."""

    name: Title = Field(description="The line's name in the house file.")
    first: int = Field(ge=0, description="Its first pixel in the frame, counted from 0.")
    count: int = Field(ge=0, description="How many pixels it has.")
    universe: int = Field(description="Its first E1.31 universe.")
    order: str = Field(
        pattern=CHANNELS, description="The order of its channels in frames.rgb: GRB, RGBW…"
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


def read_sidecar(path: Path) -> tuple[Sidecar, dict[str, Any]]:
    """Read a frames.json; return what every reader may rely on, and all its keys.

    Raises
    ------
    InputError
        It isn't there, isn't a description of frames, or contradicts itself.
    """
    meta = _load(path)
    if not isinstance(meta, dict) or meta.get("format") != FORMAT:
        raise InputError(f'isn\'t a frames.json; expected format "{FORMAT}"', file=path)
    if meta.get("version") != VERSION:
        raise InputError(
            f"is {FORMAT} version {str(meta.get('version'))[:20]}; expected version {VERSION}",
            file=path,
            key="version",
        )
    sidecar = check(Sidecar, meta, path, {})
    _check_lines(sidecar.lines, sidecar.pixels, sidecar.channels, path)
    return sidecar, meta


def _load(path: Path) -> Any:
    try:
        meta = json.loads(read_regular(path, LARGEST, "a description of frames"))
    except FileNotFoundError:
        raise InputError(f"no such file in {path.parent}", file=path) from None
    except OSError as error:
        raise InputError(f"can't be read: {error.strerror or error}", file=path) from None
    except (ValueError, RecursionError) as error:
        raise InputError(f"isn't JSON: {error}", file=path) from None
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
        raise InputError(f"have {at} pixels in all, but pixels is {pixels}", file=side, key="lines")
