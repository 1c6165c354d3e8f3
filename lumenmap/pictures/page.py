"""`write_page`: a self-contained HTML file that plays a show on the house, offline.

Strategy: the page holds the bytes that the controller gets and a smaller light transport: the dark
house and its colours as pictures, the irradiance of up to `GROUPS` groups of lamps as small grey
pictures on one sheet, and the position of each lamp. The browser adds up light as `Preview` does,
with the same tone curve, so it shows the codes themselves and not a recording.
"""

from __future__ import annotations

import base64
import json
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
from imageio.v3 import imwrite
from numpy.typing import NDArray
from scipy import ndimage

from lumenmap.colour.transfer import to_srgb
from lumenmap.core.errors import InputError
from lumenmap.core.files import write_whole
from lumenmap.parts.light import white_of
from lumenmap.pictures.light.images import core_and_reach
from lumenmap.pictures.light.preview import Preview
from lumenmap.pictures.light.tone import KNEE
from lumenmap.pictures.scene.lamp import VEIL, VEIL_WIDTH
from lumenmap.pixels.pixelmap import PixelMap

Codes = NDArray[np.uint8]
F32 = NDArray[np.float32]

#: Groups of lamps that light faces separately, and the factor by which their pictures are smaller.
GROUPS, SMALLER = 48, 4
#: Columns of tiles on the sheet of irradiance.
ACROSS = 8
#: A page with more codes than this (bytes, before compression) is too heavy for a phone.
LARGEST_CODES = 100_000_000
#: Light above this is always white.
TOP = 2.0


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
    supplies
        (name, budget A, current (T,) A) of each supply.
    flashing
        Findings of the flash check, as sentences; if any, the page asks before it plays.
    screen
        (3, 3) matrix from the light of the dies to linear sRGB.
    sound
        Media type and bytes of the sound that it plays with, if any.
    """

    show: str
    house: str
    fps: float
    cues: Sequence[tuple[str, float, float]] = ()
    supplies: Sequence[tuple[str, float, NDArray[np.float64]]] = ()
    flashing: Sequence[str] = ()
    screen: NDArray[np.floating[Any]] = field(default_factory=lambda: np.eye(3))
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
        "lines": [{"first": s.first, "count": s.count, "order": s.order} for s in pixelmap.lines],
        "supplies": [_supply(*s) for s in page.supplies],
        "codes": _packed(wire),
        "sound": page.sound and {"type": page.sound[0], "data": _text(page.sound[1])},
        **picture_data(view, pixelmap),
    }
    # No "<" in a name can end the script element early.
    text = json.dumps(data, separators=(",", ":")).replace("<", "\\u003c")
    files = resources.files("lumenmap.pictures")
    html, drawing = (files.joinpath(f).read_text("utf-8") for f in ("player.html", "draw.js"))
    whole = html.replace("/*DRAW*/", drawing).replace("/*DATA*/", text).encode()
    write_whole(path, whole)
    return len(whole)


def _supply(name: str, budget: float, amps: NDArray[np.float64]) -> dict[str, Any]:
    top = max(float(amps.max()), 1e-6)
    steps = np.round(amps / top * 65535).astype("<u2")
    return {"name": name, "budget": budget, "top": top, "amps": _text(steps.tobytes())}


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
    return {"data": _text(data), "turned": turned, "differences": differences}


def picture_data(view: Preview, pixelmap: PixelMap) -> dict[str, Any]:
    """Return the picture of a house as ``draw.js`` needs it: a small light transport, for JSON."""
    parts, exposure = view.parts, view.exposure
    shape = (view.height, view.width)
    cover = np.asarray(parts.mix.sum(1)).ravel()
    albedo = (parts.mix @ parts.colours) * np.float32(exposure)
    top = max(float(albedo.max(initial=0)), 1e-6)
    base = np.minimum(parts.base * np.float32(exposure), TOP)
    peak = max(float(base.max()), 1e-6)
    starts = _starts(pixelmap.edge)
    return {
        "base": _image(to_srgb(base / peak).reshape(*shape, 3), 90),
        "baseTop": peak,
        "albedo": _image(to_srgb(albedo / top).reshape(*shape, 3), 86),
        "albedoTop": top,
        "wash": _wash(view, cover, starts),
        "lamps": _lamps(view),
        "white": [round(float(v), 6) for v in white_of(pixelmap.kind)],
    }


def _starts(edges: NDArray[np.int32]) -> NDArray[np.int64]:
    """Return the first lamp of each of at most about `GROUPS` groups of neighbours."""
    size = max(1, -(-len(edges) // GROUPS))
    new = np.ones(len(edges), bool)
    new[1:] = edges[1:] != edges[:-1]
    first = np.flatnonzero(new)
    run = np.arange(len(edges)) - np.repeat(first, np.diff([*first, len(edges)]))
    return np.flatnonzero(run % size == 0)


def _wash(view: Preview, cover: F32, starts: NDArray[np.int64]) -> dict[str, Any]:
    """Return the sheet of irradiance by group: square root, 8 bits, each with its own maximum."""
    parts = view.parts
    # The finer groups of the transport are added up.
    coarse = np.searchsorted(starts, parts.starts, side="right") - 1
    height, width = view.height // SMALLER, view.width // SMALLER
    count = len(starts)
    sheet = np.zeros((-(-count // ACROSS) * height, ACROSS * width), np.uint8)
    tops = []
    small = _shrunk(cover, view)
    for g in range(count):
        light = parts.wash[:, coarse == g].sum(1)
        seen = _shrunk(parts.mix @ light, view)
        fall = np.divide(seen, small, out=np.zeros_like(seen), where=small > 0.02)
        fall = _spread(fall, small > 0.02)
        # A few spots very close to a lamp would use up the whole range.
        top = max(float(np.quantile(fall, 0.9995)), 1e-9)
        tops.append(top)
        y, x = divmod(g, ACROSS)
        tile = np.sqrt(np.minimum(fall / top, 1)) * 255
        sheet[y * height : (y + 1) * height, x * width : (x + 1) * width] = tile
    grey = np.repeat(sheet[..., None], 3, axis=2) / 255
    return {
        "tiles": _image(grey, 80),
        "tops": [float(f"{t:.5g}") for t in tops],
        "starts": starts.tolist(),
        "across": ACROSS,
        "width": width,
        "height": height,
    }


def _shrunk(values: F32, view: Preview) -> F32:
    h, w = view.height // SMALLER, view.width // SMALLER
    whole = np.asarray(values, np.float32).reshape(view.height, view.width)
    cut = whole[: h * SMALLER, : w * SMALLER].reshape(h, SMALLER, w, SMALLER)
    return np.asarray(cut.mean((1, 3)), np.float32)


def _spread(values: F32, known: NDArray[np.bool_]) -> F32:
    """Extend values a little beyond the known area, so that blending gives no dark edge."""
    weight = ndimage.uniform_filter(known.astype(np.float32), 5)
    mean = ndimage.uniform_filter(np.where(known, values, 0), 5)
    near = np.divide(mean, weight, out=np.zeros_like(mean), where=weight > 1e-3)
    return np.where(known, values, np.maximum(near, 0))  # running sums may round to below 0


def _lamps(view: Preview) -> dict[str, Any]:
    """Return position (pixels of the picture) and exposed level of each lamp's image."""
    parts = view.parts
    places = np.column_stack([parts.places, parts.levels * view.exposure])
    core, reach = core_and_reach(view.width, view.height)
    return {
        "places": [float(f"{v:.5g}") for v in places.ravel()],
        "core": core,
        "reach": reach,
        "veil": VEIL,
        "width": VEIL_WIDTH,
    }


def _image(picture: NDArray[Any], quality: int) -> str:
    codes = np.round(np.clip(picture, 0, 1) * 255).astype(np.uint8)
    data = imwrite("<bytes>", codes, extension=".webp", plugin="pillow", quality=quality, method=6)
    return f"data:image/webp;base64,{_text(data)}"


def _text(data: bytes) -> str:
    return base64.b64encode(data).decode()
