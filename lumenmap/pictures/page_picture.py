"""A house's picture for browsers: a small light transport, as ``draw.js`` reads it.

Strategy: the dark house and its colours are pictures; the irradiance of up to `GROUPS` groups of
lamps is a sheet of small grey pictures, which the browser enlarges. Where that would carry light
over the edge of one face to another behind it, a map says which small cell a pixel takes instead.
"""

from __future__ import annotations

import base64
from typing import Any

import numpy as np
from imageio.v3 import imwrite
from numpy.typing import NDArray
from scipy import ndimage

from lumenmap.colour.transfer import to_srgb
from lumenmap.parts.light import white_of
from lumenmap.pictures.drawn.preview import Preview
from lumenmap.pictures.light.images import core_and_reach
from lumenmap.pictures.scene.lamp import VEIL, VEIL_WIDTH
from lumenmap.pixels.pixelmap import PixelMap

F32 = NDArray[np.float32]

#: Groups of lamps that light faces separately, and the factor by which their pictures are smaller.
GROUPS, SMALLER = 48, 4
#: Columns of tiles on the sheet of irradiance.
ACROSS = 8
#: Less of a pixel than this doesn't count as covered by faces.
COVERED = 0.02
#: Parts of the house whose light is compared; the difference that is seen, in exposed light of all
#: pixels at full, and as a part of what is right: less is a slope on one face. A single cell must
#: be better than four by this factor.
PARTS, VISIBLE, WRONG, BETTER = 12, 0.02, 0.35, 0.5
#: Light above this is always white.
TOP = 2.0


def picture_data(view: Preview, pixelmap: PixelMap) -> dict[str, Any]:
    """Return the picture of a house as ``draw.js`` needs it: a small light transport, for JSON."""
    parts, exposure = view.parts, view.exposure
    mix = parts.mix.matrix()
    shape = (view.height, view.width)
    cover = np.asarray(mix.sum(1)).ravel()
    albedo = (mix @ parts.colours) * np.float32(exposure)
    top = max(float(albedo.max(initial=0)), 1e-6)
    base = np.minimum(parts.base * np.float32(exposure), TOP)
    peak = max(float(base.max()), 1e-6)
    starts = _starts(pixelmap.edge)
    # The finer groups of the transport are added up.
    coarse = np.searchsorted(starts, parts.starts, side="right") - 1
    wash = parts.wash.matrix()
    groups = [mix @ wash[:, coarse == g].sum(1) for g in range(len(starts))]
    cells = [_cells(seen, cover, view) for seen in groups]
    return {
        "base": _image(to_srgb(base / peak).reshape(*shape, 3)),
        "baseTop": peak,
        "albedo": _image(to_srgb(albedo / top).reshape(*shape, 3)),
        "albedoTop": top,
        "wash": {
            **_sheet(cells, view),
            "starts": starts.tolist(),
            "near": _own_cells(groups, cells, cover, albedo.max(1), view),
        },
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


def _cells(seen: F32, cover: F32, view: Preview) -> F32:
    """Return the irradiance of a group at the small size, from its light (H·W,) in the picture."""
    small = _shrunk(cover, view)
    known = small > COVERED
    fall = np.divide(_shrunk(seen, view), small, out=np.zeros_like(small), where=known)
    return _spread(fall, known)


def _sheet(cells: list[F32], view: Preview) -> dict[str, Any]:
    """Return the sheet of irradiance by group: square root, 8 bits, each with its own maximum."""
    height, width = _small(view)
    sheet = np.zeros((-(-len(cells) // ACROSS) * height, ACROSS * width), np.uint8)
    tops = []
    for g, fall in enumerate(cells):
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
        "across": ACROSS,
        "width": width,
        "height": height,
    }


def _own_cells(groups: list[F32], cells: list[F32], cover: F32, albedo: F32, view: Preview) -> str:
    """Return the map of pixels that take one cell alone: 1 + its place among 5 × 5, else 0.

    Where four cells mixed are visibly wrong, it is the cell whose light is most like the pixel's
    own, of several parts of the house.
    """
    h, w = _small(view)
    parts = np.array_split(np.arange(len(groups)), min(PARTS, len(groups)))
    own = np.stack([sum(groups[g] for g in part) for part in parts], -1)
    near = np.stack([sum(cells[g] for g in part) for part in parts], -1)
    known = np.flatnonzero(cover > COVERED)
    own = own[known] / cover[known, None]
    row, column = np.divmod(known, view.width)
    v, u = (
        np.clip((at + 0.5) * small / whole - 0.5, 0, small - 1.001)
        for at, small, whole in ((row, h, view.height), (column, w, view.width))
    )
    y, x = v.astype(int), u.astype(int)
    f, g = (v - y)[:, None], (u - x)[:, None]
    mixed = (1 - f) * ((1 - g) * near[y, x] + g * near[y, x + 1])
    mixed += f * ((1 - g) * near[y + 1, x] + g * near[y + 1, x + 1])
    off = np.abs(mixed - own).sum(1)
    wrong = np.flatnonzero((off * albedo[known] > VISIBLE) & (off > WRONG * own.sum(1)))
    best, which = off[wrong], np.zeros(len(wrong), np.uint8)
    for code in range(25):
        dy, dx = code // 5 - 2, code % 5 - 2
        yy, xx = y[wrong] + dy, x[wrong] + dx
        there = (yy >= 0) & (yy < h) & (xx >= 0) & (xx < w)
        found = np.abs(near[yy.clip(0, h - 1), xx.clip(0, w - 1)] - own[wrong]).sum(1)
        better = there & (found < best * np.where(which == 0, BETTER, 1))
        best[better], which[better] = found[better], code + 1
    whole = np.zeros(view.height * view.width, np.uint8)
    whole[known[wrong]] = which
    made = imwrite("<bytes>", whole.reshape(view.height, view.width), extension=".png")
    return f"data:image/png;base64,{as_text(made)}"


def _small(view: Preview) -> tuple[int, int]:
    return view.height // SMALLER, view.width // SMALLER


def _shrunk(values: F32, view: Preview) -> F32:
    h, w = _small(view)
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


def _image(picture: NDArray[Any], quality: int | None = None) -> str:
    """Return a picture 0..1 as WebP: exact unless a quality is given.

    With losses its colours have half the size, which shows as halos around every outline.
    """
    codes = np.round(np.clip(picture, 0, 1) * 255).astype(np.uint8)
    how = {"lossless": True} if quality is None else {"quality": quality}
    data = imwrite("<bytes>", codes, extension=".webp", plugin="pillow", method=6, **how)
    return f"data:image/webp;base64,{as_text(data)}"


def as_text(data: bytes) -> str:
    """Return bytes as Base64."""
    return base64.b64encode(data).decode()
