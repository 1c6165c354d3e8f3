"""Textures of faces: boards, shingles, grass, paving; factors on reflectance."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.scene.surface import Surface, SurfaceKind

F = NDArray[np.float64]

#: Visible width of siding boards and roof shingles (m; common practice, no source).
BOARD, SHINGLE = 0.125, 0.145


class Extent(NamedTuple):
    """The lowest and highest (m) of what is visible of a surface, across and up."""

    across: tuple[float, float]
    up: tuple[float, float]


def extent(parts: Iterable[F]) -> Extent:
    """Return the extent of points, given as some (K, 3) at a time."""
    across: list[float] = []
    up: list[float] = []
    for points in parts:
        for found, each in ((across, points[:, 0] + points[:, 1]), (up, points[:, 2])):
            found += [float(each.min()), float(each.max())]
    return Extent((min(across), max(across)), (min(up), max(up)))


def texture(surface: Surface, points: F, blur: F, seen: Extent | None = None) -> F:
    """Return the (K,) factor on reflectance at (K, 3) points of a surface.

    ``blur`` (K,) is the length on the face that a pixel of the picture covers (m). Finer detail
    fades out instead of shimmering. ``seen`` is needed for the kinds of `SPREADING`.
    """
    if seen is not None and surface.kind in SPREADING:
        return SPREADING[surface.kind](points, blur, seen)
    made = _KINDS.get(surface.kind)
    return made(points, blur) if made else np.ones(len(points))


def _fade(size: float, blur: F) -> F:
    return np.clip((size / np.maximum(blur, 1e-9) - 1.6) / 2.0, 0, 1)


def noise(u: F, v: F, seed: int = 0) -> F:
    """Return smooth noise in -1..1: hashed values on a unit grid, eased between."""
    iu, iv = np.floor(u).astype(np.int64), np.floor(v).astype(np.int64)
    fu, fv = u - iu, v - iv
    fu, fv = fu * fu * (3 - 2 * fu), fv * fv * (3 - 2 * fv)

    def corner(a: int, b: int) -> F:
        h = ((iu + a) * 374761393 + (iv + b) * 668265263 + seed * 974634777) & 0xFFFFFFFF
        h = ((h ^ (h >> 13)) * 1274126177) & 0xFFFFFFFF
        return ((h ^ (h >> 16)) & 0xFFFF) / 32767.5 - 1

    low = corner(0, 0) * (1 - fu) + corner(1, 0) * fu
    high = corner(0, 1) * (1 - fu) + corner(1, 1) * fu
    return low * (1 - fv) + high * fv


def _siding(points: F, blur: F) -> F:
    """Lapped boards: each darker towards its top, with a shadow under its lower edge."""
    part = points[:, 2] / BOARD % 1
    lap = np.exp(-(((part - 1.0) / 0.10) ** 2)) + np.exp(-((part / 0.10) ** 2))
    along = noise(np.floor(points[:, 2] / BOARD) * 3.7, points[:, 0] + points[:, 1], 12)
    return 1 - _fade(BOARD, blur) * (0.34 * lap - 0.05 + 0.08 * part - 0.03 * along)


def _shingles(points: F, blur: F) -> F:
    course = np.floor(points[:, 2] / (SHINGLE * 0.6))
    along = points[:, 0] + points[:, 1] + 0.37 * course
    tab = noise(along / 0.30, course * 7.0, 3)
    row = points[:, 2] / (SHINGLE * 0.6) % 1
    return 1 + _fade(SHINGLE, blur) * (0.22 * tab - 0.35 * np.exp(-((row / 0.18) ** 2)) + 0.06)


def _grass(points: F, blur: F) -> F:
    fine = noise(points[:, 0] / 0.11, points[:, 1] / 0.16, 5) * _fade(0.22, blur)
    patch = noise(points[:, 0] / 1.7, points[:, 1] / 2.3, 6)
    return 1 + 0.28 * fine + 0.20 * patch


def _paving(points: F, blur: F) -> F:
    joint = np.minimum(points[:, 1] / 1.2 % 1, 1 - points[:, 1] / 1.2 % 1) * 1.2
    line = np.exp(-((joint / 0.02) ** 2)) * _fade(0.10, blur)
    return 1 - 0.45 * line + 0.06 * noise(points[:, 0] / 0.35, points[:, 1] / 0.35, 8)


def _needles(points: F, blur: F) -> F:
    across, up = points[:, 0] + points[:, 1], points[:, 2]
    # Twigs hang outward and down: the grid of the noise is rotated, in two sizes.
    large = noise((across + 0.6 * up) / 0.55, (up - 0.6 * across) / 0.35, 9)
    fine = noise((across - 0.4 * up) / 0.13, (up + 0.4 * across) / 0.20, 10)
    return 1 + 0.30 * large * _fade(0.8, blur) + 0.40 * fine * _fade(0.30, blur)


def _leaves(points: F, blur: F, seen: Extent) -> F:
    """Return a leafy dome: light above, dark at its foot."""
    rise = (points[:, 2] - seen.up[0]) / max(seen.up[1] - seen.up[0], 1e-6)
    fine = noise(points[:, 0] / 0.07, points[:, 2] / 0.06, 13) * _fade(0.14, blur)
    large = noise(points[:, 0] / 0.21, points[:, 2] / 0.17, 14) * _fade(0.30, blur)
    light: F = (0.45 + 0.85 * rise) * (1 + 0.45 * large + 0.45 * fine)
    return light


def _room(points: F, _blur: F, seen: Extent) -> F:
    """Return a room with a lamp somewhere: warmer spots, darker towards the floor."""
    across = points[:, 0] + points[:, 1]
    rise = (points[:, 2] - seen.up[0]) / max(seen.up[1] - seen.up[0], 1e-6)
    side = across - seen.across[0]
    wide = max(seen.across[1] - seen.across[0], 1e-6)
    lamp = 0.30 + 0.40 * (seen.across[0] * 7.3 % 1)  # its position in the room
    glow = np.exp(-(((side / wide - lamp) / 0.38) ** 2) - ((rise - 0.62) / 0.45) ** 2)
    light: F = 0.52 + 0.22 * rise + 0.55 * glow + 0.10 * noise(across / 0.7, points[:, 2] / 0.9, 31)
    return light


def _folds(points: F, blur: F) -> F:
    across = points[:, 0] + points[:, 1]
    return 1 + 0.30 * np.sin(across * 2 * np.pi / 0.09) * _fade(0.09, blur)


def _drifts(points: F, _blur: F) -> F:
    return 1 + 0.07 * noise(points[:, 0] / 1.9, points[:, 1] / 2.6 + points[:, 2] / 2.2, 11)


_KINDS: dict[SurfaceKind, Callable[[F, F], F]] = {
    "wall": _siding,
    "roof": _shingles,
    "ground": _grass,
    "path": _paving,
    "step": _paving,
    "tree": _needles,
    "snow": _drifts,
    "curtain": _folds,
}
#: Textures that spread over all that is visible of a surface.
SPREADING: dict[SurfaceKind, Callable[[F, F, Extent], F]] = {"shrub": _leaves, "glass": _room}
