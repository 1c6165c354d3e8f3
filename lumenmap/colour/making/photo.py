"""The colours of a photograph that a person would pick to light a house with.

Lights have no browns and greys: against the night a brown is a dim orange and a grey a dim white.
So each part of the picture counts as the light it would be at full. Strategy: like lights are
gathered, their shares measured, and colours picked one by one, each the one that adds most: by its
share of the picture, its colourfulness, and its difference from those picked before. So a small
strong accent is found, and two that look alike aren't.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import combinations
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from PIL import ImageFilter
from PIL.Image import Image

from lumenmap.colour import oklab
from lumenmap.colour.difference import ciede2000, cielab
from lumenmap.colour.making.harmony import hex_code, most_vivid
from lumenmap.colour.transfer import to_linear
from lumenmap.core.errors import InputError
from lumenmap.core.images import as_rgb, opened

F = NDArray[np.float64]

_SIDE = 160
#: CIEDE2000 between any two: clearly two colours, side by side and apart (chosen by eye).
STEP = 13.0
#: Further from each other is no better.
_FAR = 60.0
#: Lights nearer than this (OKLab) are gathered.
_LIKE = 0.035
#: A smaller share of the picture is a fleck.
_LEAST = 0.0003
#: A colour with less than this of what is around it is on the slope of another.
_OWN = 0.03
#: A share below this of what is a mixture of two others is where those meet.
_SMALL, _MIXED = 0.008, 0.04
#: Parts darker than the first (OKLab lightness) are unlit; from the second on they count whole.
_DARK, _LIT = 0.12, 0.4
#: Where what lies on both sides differs by this (OKLab), and a pixel is between them, it is the
#: edge of two colours and not one; how far apart both sides are looked at (pixels each way).
_EDGE, _REACH = 0.06, (1, 2)
#: Parts of the strongest chroma of a hue: up to the first a colour is a white, from the second on
#: it is made stronger.
_PALE = (0.15, 0.4)
#: A grey counts this much of what a strong colour counts; OKLab chroma of a strong colour.
_GREY, _STRONG = 0.35, 0.2


def from_photo(path: Path, count: int) -> list[str]:
    """Return at most ``count`` colours of a photograph, each at full, in order of hue.

    There are fewer if the picture has no more that differ. The result depends on the picture only.

    Raises
    ------
    InputError
        Not a picture that can be read, or one that is black.
    """
    try:
        with opened(path) as image:
            return colours_of(image, count)
    except FileNotFoundError:
        raise InputError("no such file", file=path) from None
    except InputError as error:
        raise error.at(file=path) from error.__cause__


def colours_of(image: Image, count: int) -> list[str]:
    """Return the colours of an open picture, as `from_photo` does.

    Raises
    ------
    InputError
        It is black.
    """
    image.draft("RGB", (_SIDE * 2, _SIDE * 2))
    image.thumbnail((_SIDE, _SIDE))
    # Grain isn't colour.
    codes = np.asarray(as_rgb(image).filter(ImageFilter.MedianFilter(3)))
    linear = to_linear(codes / 255)
    weight = _weights(oklab.from_linear(linear)).reshape(-1)
    lights, shares = _gathered(linear.reshape(-1, 3), weight)
    if not len(lights):
        raise InputError("is black; expected a picture with colours in it")
    chosen = _picked(lights, shares, count)
    light, chroma, hue = oklab.to_lch(oklab.from_linear(chosen)).T
    # Whites have no hue; they come last.
    order = np.lexsort((-light, np.where(chroma < 0.04, 400.0, hue)))
    return [hex_code(chosen[i]) for i in order]


def _weights(lab: F) -> F:
    """Return how much each pixel (H, W) counts: lit, and not the edge between two colours."""
    lit = np.clip((lab[..., 0] - _DARK) / (_LIT - _DARK), 0, 1)
    edge = np.zeros(lab.shape[:2], bool)
    for reach in _REACH:
        padded = np.pad(lab, [(reach, reach), (reach, reach), (0, 0)], mode="edge")
        high, wide = lab.shape[:2]
        for down, right in ((reach, 0), (0, reach), (reach, reach), (reach, -reach)):
            one, other = (
                padded[reach + s * down :, reach + s * right :][:high, :wide] for s in (-1, 1)
            )
            apart = np.linalg.norm(one - other, axis=-1)
            off = np.linalg.norm(lab - (one + other) / 2, axis=-1)
            edge |= (apart > _EDGE) & (off < 0.49 * apart)
    return np.asarray(lit * np.where(edge, 0.01, 1.0))


def _gathered(linear: F, weight: F) -> tuple[F, F]:
    """Return full lights (K, 3) and their shares (K,): cells of OKLab, each with its mean."""
    kept = weight > 0
    full, weight = linear[kept], weight[kept]
    if not weight.sum():
        return np.empty((0, 3)), np.empty(0)
    full = _as_light(full)
    cells = np.floor(oklab.from_linear(full) / _LIKE).astype(int)
    _, which = np.unique(cells, axis=0, return_inverse=True)
    which = which.reshape(-1)
    total = np.bincount(which, weight)
    sums = np.stack([np.bincount(which, weight * full[:, c]) for c in range(3)], -1)
    mean: F = sums / total[:, None]
    return mean / mean.max(axis=1, keepdims=True), total / total.sum()


def _as_light(linear: F) -> F:
    """Return colours (K, 3) at full, and those of leaves and walls as strong as lights have them.

    A muted colour looks muted because of what is around it; against the night it would be a
    pastel. What is nearly white stays white.
    """
    full = linear / linear.max(axis=1, keepdims=True)
    lab = oklab.from_linear(full)
    light, chroma, hue = oklab.to_lch(lab).T
    ratio = chroma / light
    part = np.minimum(ratio / np.interp(hue, *_most_vivid()), 1.0)
    more = part ** np.interp(part, _PALE, (1.0, 0.5))
    stronger = oklab.from_lch(np.stack([light, chroma * more / np.maximum(part, 1e-9), hue], -1))
    made = np.maximum(oklab.to_linear(stronger), 0)
    return np.asarray(made / made.max(axis=1, keepdims=True))


@lru_cache(maxsize=1)
def _most_vivid() -> tuple[F, F]:
    """Return hues (degrees), and the most chroma for its lightness that each can have."""
    hues = np.arange(0.0, 361.0, 3.0)
    return hues, most_vivid(hues)


def _picked(lights: F, shares: F, count: int) -> F:
    """Pick up to ``count`` of the lights (K, 3), at least `STEP` from each other."""
    lab, seen = oklab.from_linear(lights), cielab(lights)
    gaps = np.linalg.norm(lab[:, None] - lab, axis=-1)
    # A colour of a natural picture is spread over neighbouring cells.
    around = (np.exp(-((gaps / (2 * _LIKE)) ** 2)) * shares).sum(axis=1)
    chroma = np.hypot(lab[:, 1], lab[:, 2])
    merit = np.sqrt(around) * np.maximum(np.minimum(chroma / _STRONG, 1), _GREY)
    merit[(around < _LEAST) | (shares < _OWN * around)] = 0
    found: list[int] = []
    nearest = np.full(len(lights), _FAR)
    while len(found) < count:
        score = np.where(nearest < STEP, 0, merit * nearest**2)
        score[(around < _SMALL) & _between(lights, lights[found])] = 0
        best = int(np.argmax(score))
        if score[best] <= 0 and found:
            break
        found.append(best)
        nearest = np.minimum(nearest, ciede2000(seen, seen[best]))
    return lights[found]


def _between(lights: F, chosen: F) -> NDArray[np.bool_]:
    """Return which lights (K, 3) are mixtures of two of those chosen: on a line of chromaticity."""
    found = np.zeros(len(lights), bool)
    point, ends = (v / v.sum(axis=1, keepdims=True) for v in (lights, chosen))
    for one, other in combinations(ends, 2):
        way = other - one
        part = np.clip(((point - one) * way).sum(axis=1) / max(float(way @ way), 1e-9), 0, 1)
        found |= np.linalg.norm(point - one - part[:, None] * way, axis=1) < _MIXED
    return found
