"""`write_effects_page`: all effects on one house, side by side, to choose from; offline.

Every effect has a still, and a picture that moves when it is touched: nothing moves unasked, and
what flashes stays still.
"""

from __future__ import annotations

import base64
import io
import json
from collections.abc import Iterable
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
from imageio.v3 import imwrite
from numpy.typing import NDArray

from lumenmap.core.files import write_whole
from lumenmap.pictures.encode.video import save_webp

Frames = NDArray[np.uint8]

#: Quality of stills as WebP, and of what moves [C].
STILL, MOVING = 80, 60


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """One effect on the page.

    Attributes
    ----------
    name, summary, words
        What it is called, what it does, and plain words that find it.
    command
        What draws it larger, on the same house.
    frames
        (T, H, W, 3) sRGB pictures that follow each other.
    still
        The one of them that stands for it.
    flashes
        Whether it flashes too much to be shown moving.
    """

    name: str
    summary: str
    words: str
    command: str
    frames: Frames
    still: int
    flashes: bool


def write_effects_page(path: Path | str, house: str, shown: Iterable[Shown], fps: float) -> int:
    """Write the page; return its size in bytes.

    Raises
    ------
    InputError
        A path that can't be written.
    """
    effects, size = [], (0, 0)
    for each in shown:
        size = (each.frames.shape[2], each.frames.shape[1])
        effects.append(_effect(each, fps))
    data = {"house": house, "width": size[0], "height": size[1], "effects": effects}
    # No "<" in a name can end the script element early.
    text = json.dumps(data, separators=(",", ":")).replace("<", "\\u003c")
    html = resources.files("lumenmap.pictures").joinpath("effects.html").read_text("utf-8")
    whole = html.replace("/*DATA*/", text).encode()
    write_whole(path, whole)
    return len(whole)


def _effect(each: Shown, fps: float) -> dict[str, Any]:
    still = np.ascontiguousarray(each.frames[each.still])
    moving = io.BytesIO()
    if not each.flashes:
        save_webp(moving, iter(each.frames), fps, len(each.frames), quality=MOVING)
    picture = imwrite("<bytes>", still, extension=".webp", plugin="pillow", quality=STILL)
    return {
        "name": each.name,
        "summary": each.summary,
        "words": each.words,
        "command": each.command,
        "still": _data(picture),
        "moving": _data(moving.getvalue()) if moving.getvalue() else "",
    }


def _data(content: bytes) -> str:
    return f"data:image/webp;base64,{base64.b64encode(content).decode()}"
