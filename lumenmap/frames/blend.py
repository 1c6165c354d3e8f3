"""Blend modes of W3C Compositing and Blending Level 1 (section 10.1), on linear light.

All work in place on float32 arrays of the same shape; ``backdrop`` is overwritten. A layer is
opaque on its pixels, so the compositing step is only the mix by its opacity.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour.dim import dim
from lumenmap.show.model import Blend

A = NDArray[np.float32]

#: Light this near to 0 or 1 counts as such where a formula jumps there: colours pass through OKLab
#: and float32, and 0.9999999 is a white that was rounded.
_PURE = np.float32(1e-6)


def _normal(_b: A, s: A) -> A:
    return s


def _multiply(b: A, s: A) -> A:
    return np.multiply(b, s, out=s)


def _screen(b: A, s: A) -> A:
    # b + s - b·s, arranged so that it needs one temporary only
    kept = np.subtract(1, b)
    np.multiply(s, kept, out=s)
    return np.add(s, b, out=s)


def _hard_light(b: A, s: A) -> A:
    return np.where(s <= 0.5, b * (2 * s), _screen(b, 2 * s - 1))


def _overlay(b: A, s: A) -> A:
    return _hard_light(s.copy(), b.copy())


def _color_dodge(b: A, s: A) -> A:
    rest = 1 - s
    quotient = np.divide(b, rest, out=np.ones_like(b), where=rest > _PURE)
    return np.where(b <= _PURE, np.float32(0), np.minimum(1, quotient))


def _color_burn(b: A, s: A) -> A:
    rest = 1 - b
    quotient = np.divide(rest, s, out=np.ones_like(b), where=s > _PURE)
    return np.where(rest <= _PURE, np.float32(1), 1 - np.minimum(1, quotient))


def _soft_light(b: A, s: A) -> A:
    d = np.where(b <= 0.25, ((16 * b - 12) * b + 4) * b, np.sqrt(b))
    low = b - (1 - 2 * s) * b * (1 - b)
    return np.where(s <= 0.5, low, b + (2 * s - 1) * (d - b))


MODES: dict[Blend, Callable[[A, A], A]] = {
    "normal": _normal,
    "multiply": _multiply,
    "screen": _screen,
    "overlay": _overlay,
    "darken": lambda b, s: np.minimum(b, s, out=s),
    "lighten": lambda b, s: np.maximum(b, s, out=s),
    "color-dodge": _color_dodge,
    "color-burn": _color_burn,
    "hard-light": _hard_light,
    "soft-light": _soft_light,
    "difference": lambda b, s: np.abs(b - s),
    "exclusion": lambda b, s: b + s - 2 * b * s,
    "plus-lighter": lambda b, s: np.minimum(np.add(b, s, out=s), 1, out=s),
}


def scale(light: A, level: float | A) -> A:
    """Multiply ``light`` (T, N, 4) by ``level``, in place, and return it.

    ``level`` is one number, one for each frame (T, 1), or one for each pixel too (T, N).
    """
    if isinstance(level, (int, float)):
        light *= np.float32(level)
    elif level.shape[1] == 1 and light.flags.c_contiguous:
        frames = light.reshape(len(light), -1)  # one pass over whole frames is the quickest
        frames *= level
    else:
        dim(light, level)
    return light


def blend(backdrop: A, source: A, mode: Blend, opacity: float | A) -> None:
    """Composite ``source`` onto ``backdrop`` in place.

    Parameters
    ----------
    backdrop, source
        (T, N, 4) or (T, N, 3) float32 linear light 0..1; ``source`` may be used as scratch.
    mode
        A name of `MODES`.
    opacity
        0..1: how much of the blended result replaces the backdrop; for all alike, for each frame
        (T, 1) or for each pixel of each frame (T, N).
    """
    full = isinstance(opacity, (int, float)) and opacity == 1
    if mode == "screen" and full:  # the most common; three passes, no copy back
        np.subtract(1, backdrop, out=backdrop)
        np.subtract(1, source, out=source)
        np.multiply(backdrop, source, out=backdrop)
        np.subtract(1, backdrop, out=backdrop)
        return
    mixed = MODES[mode](backdrop, source)
    if full:
        backdrop[...] = mixed
    else:
        mixed -= backdrop
        scale(mixed, opacity)
        backdrop += mixed
