"""`write_page`: a self-contained HTML file that plays a show on the house, offline.

Strategy: the page holds the bytes that the controller gets and a smaller light transport: the dark
house and its colours as pictures, the irradiance of up to `GROUPS` groups of lamps as small grey
pictures on one sheet, and the position of each lamp. The browser adds up light as `Preview` does,
with the same tone curve, so it shows the codes themselves and not a recording.
"""

from __future__ import annotations

import json
import re
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError
from lumenmap.core.files import write_whole
from lumenmap.core.lengths import show_about
from lumenmap.pictures.drawn.preview import Preview
from lumenmap.pictures.drawn.tone import KNEE
from lumenmap.pictures.page_picture import as_text, picture_data
from lumenmap.pictures.scripts import DRAWING
from lumenmap.pixels.pixelmap import PixelMap

Codes = NDArray[np.uint8]
#: A page with more codes than this (bytes, before compression) is too heavy for a phone.
LARGEST_CODES = 100_000_000
#: The scripts of the page.
SCRIPTS = (*DRAWING, "timeline.js", "play.js")


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """What a supply, branch or wire may carry (A), and what it does in each frame (T,).

    Attributes
    ----------
    binds
        Whether nothing else of the house comes nearer to its limit.
    """

    name: str
    kind: str
    amps: float
    drawn: NDArray[np.float64]
    binds: bool


@dataclass(frozen=True, slots=True, eq=False)
class Page:
    """The content of a page apart from the picture.

    Attributes
    ----------
    show, house
        Their names.
    fps
        Frames a second.
    cues
        (name, start s, length s) of each cue.
    budgets
        What is drawn over time: the supplies, and what comes nearest to its limit.
    flashing
        Findings of the flash check, as sentences; if any, the page asks before it plays.
    screen
        (3, 3) matrix from the light of the dies to linear sRGB.
    unit
        Of the places of pixels.
    sound
        Media type and bytes of the sound that it plays with, if any.
    """

    show: str
    house: str
    fps: float
    cues: Sequence[tuple[str, float, float]] = ()
    budgets: Sequence[Drawn] = ()
    flashing: Sequence[str] = ()
    screen: NDArray[np.floating[Any]] = field(default_factory=lambda: np.eye(3))
    unit: str = "m"
    sound: tuple[str, bytes] | None = None


def write_page(path: Path | str, view: Preview, pixelmap: PixelMap, wire: Codes, page: Page) -> int:
    """Write the page; return its size in bytes.

    Parameters
    ----------
    view
        The picture, with the exposure to use.
    wire
        (T, N, C) codes in each line's own channel order, as in the frame file.

    Raises
    ------
    InputError
        No frames, or a path that can't be written.
    """
    if not len(wire):
        raise InputError("there are no frames to write", file=path)
    data: dict[str, Any] = {
        "show": page.show,
        "house": page.house,
        "fps": page.fps,
        "frames": len(wire),
        "pixels": len(pixelmap),
        "channels": wire.shape[2],
        "width": view.width,
        "height": view.height,
        "knee": KNEE,
        "flashing": list(page.flashing),
        "screen": [round(float(v), 6) for v in page.screen.flat],
        "cues": [{"name": n, "start": s, "length": t} for n, s, t in page.cues],
        "lines": [
            {"name": s.name, "first": s.first, "count": s.count, "order": s.order}
            for s in pixelmap.lines
        ],
        "edges": pixelmap.edge_names,
        "where": [
            [int(edge), show_about(float(at), page.unit)]
            for edge, at in zip(pixelmap.edge, pixelmap.along_edge, strict=True)
        ],
        "budgets": [_drawn(each) for each in page.budgets],
        "codes": _packed(wire),
        "sound": page.sound and {"type": page.sound[0], "data": as_text(page.sound[1])},
        **picture_data(view, pixelmap),
    }
    # No "<" in a name can end the script element early.
    text = json.dumps(data, separators=(",", ":")).replace("<", "\\u003c")
    files = resources.files("lumenmap.pictures")
    whole = files.joinpath("player.html").read_text("utf-8")
    # One script holds them all: what a module imports stands above it.
    scripts = (files.joinpath(name).read_text("utf-8") for name in SCRIPTS)
    alone = "".join(re.sub(r"^(import .*\n)+", "", each, flags=re.M) for each in scripts)
    whole = whole.replace("/*SCRIPTS*/", alone.replace("\nexport ", "\n"))
    whole = whole.replace("/*DATA*/", text)
    content = whole.encode()
    write_whole(path, content)
    return len(content)


def _drawn(each: Drawn) -> dict[str, Any]:
    top = max(float(each.drawn.max()), 1e-6)
    steps = np.round(each.drawn / top * 65535).astype("<u2")
    return {
        "name": each.name,
        "kind": each.kind,
        "binds": each.binds,
        "budget": each.amps,
        "top": top,
        "amps": as_text(steps.tobytes()),
    }


def _packed(wire: Codes) -> dict[str, Any]:
    """Compress codes in the smallest of four orders.

    As they are or as differences in time; frame by frame or channel by channel.
    """
    flat = wire.reshape(len(wire), -1)
    steps = flat.copy()
    steps[1:] -= flat[:-1]
    tries = [
        (
            zlib.compress(np.ascontiguousarray(a.T if turned else a).tobytes(), 9),
            turned,
            differences,
        )
        for a, differences in ((flat, False), (steps, True))
        for turned in (False, True)
    ]
    data, turned, differences = min(tries, key=lambda t: len(t[0]))
    return {"data": as_text(data), "turned": turned, "differences": differences}
