"""`without_sun`: a photograph as though no sun had shone on the house.

Strategy: where the model has the shadows of a found sun, the photograph says how dark they are, and
of what colour (light from the sky alone is bluer). Each pixel of a face is then in the sun or in
shade: by the model, but near the edge of a shadow, and where something that isn't in the model
throws one, by its own colour, if that is the face's in the sun or the face's in shade. What fell on
it is divided out. What differs otherwise, such as shutters or plants, stays as it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.stage.faces import Faces, in_sun, opaque
from lumenmap.camera.stage.sun import Sun, find_sun, steps
from lumenmap.pictures.scene.surface import Surface

F = NDArray[np.float64]
F32 = NDArray[np.float32]
B = NDArray[np.bool_]

#: Relative luminance of linear sRGB (IEC 61966-2-1).
LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)
#: Surfaces whose shadows are judged by their own pixels, and so many of these in the sun and in
#: shade, this far (part of the width) from the edge of a shadow.
JUDGED, FEWEST, INSIDE = ("wall", "door", "roof", "ground", "street", "path", "step"), 40, 0.006
#: Surfaces that sun and sky light otherwise: panes mirror the sky, lamps are off.
LEFT = ("glass", "curtain", "lantern", "tree", "shrub")
#: A face's colour in the sun or in shade, and how far (log) a pixel's may be from it.
SPREAD, OTHER = 0.16, 1e-3
#: What the model and what the colour say, as log odds.
BY_MODEL, BY_COLOUR = 2.5, 4.5
#: Shadows that are less than this part of what the sun's light makes them aren't there.
THERE = 0.5
#: Colours are smoothed by this part of the width, and at the edges of shadows taken from beside.
SMOOTH, RIM = 0.0025, 0.0022
#: How far outlines of the model may be from the photograph's (part of the width).
OUTLINE = 0.003


def without_sun(photo: F32, faces: Faces) -> F32:
    """Return a photograph (H, W, 3), linear, without the sun's light and its shadows.

    Where no sun is found it is the same photograph.
    """
    shades = opaque(faces.surfaces)
    sun = find_sun(photo @ LUMINANCE, faces, shades)
    return photo if sun is None else _Evening(photo, faces, sun, shades).made()


@dataclass(frozen=True, slots=True, eq=False)
class _Levels:
    """(3,) log colour of a face in the sun, and how much darker (log) it is in shade."""

    lit: F
    drop: F


class _Evening:
    def __init__(self, photo: F32, faces: Faces, sun: Sun, shades: Sequence[Surface]) -> None:
        self.photo, self.faces, self.sun = photo, faces, sun
        self.wide = photo.shape[1]
        seen = (faces.which >= 0) & ~faces.of(*LEFT)
        self.lit = np.zeros(seen.shape, bool)
        self.lit[seen] = in_sun(sun.towards, faces, seen, shades)
        self.seen = seen
        self.log = np.log(np.maximum(photo, 1e-4))
        self.cosine = np.maximum(faces.normals @ sun.towards, 0)

    def made(self) -> F32:
        """Return the photograph without the sun's light."""
        found = self._measured()
        ratio = self._ratio(found)
        fell = np.zeros(self.photo.shape, np.float32)
        rim = np.zeros(self.seen.shape, bool)
        ground = np.log1p(ratio * max(float(self.sun.towards[2]), 0.0))
        for index in np.unique(self.faces.which[self.seen]):
            where = (self.faces.which == index) & self.seen
            full = np.log1p(ratio * self.cosine[index])
            shade = ~self.lit[where]
            if index in found:
                levels = found[index]
                full = levels.drop
                part = self._shaded(where, levels)
                rim |= _edge(part, where, RIM * self.wide)
                shade = part[where]
            elif index in self._absent:
                shade = np.zeros(int(where.sum()), bool)
            fell[where] = full * (1 - shade[:, None].astype(np.float32)) - ground
        fell[~self.seen] = 0
        even = self.photo * np.exp(-fell)
        return self._mended(even.astype(np.float32), rim)

    def _measured(self) -> dict[int, _Levels]:
        """Return levels of the faces on which sun and shade are both seen."""
        from scipy.ndimage import binary_erosion

        found: dict[int, _Levels] = {}
        self._absent: set[int] = set()
        size = max(1, round(INSIDE * self.wide))
        judged = self.faces.of(*JUDGED) & self.seen
        for index in np.unique(self.faces.which[judged]):
            where = self.faces.which == index
            inner = [
                binary_erosion(where & part, iterations=size) for part in (self.lit, ~self.lit)
            ]
            if min(int(part.sum()) for part in inner) < FEWEST:
                continue
            lit = np.median(self.log[inner[0]], axis=0).astype(np.float64)
            usual = np.log1p(self.sun.ratio * self.cosine[index])
            # At the edge: deep in the shade of an eave there is less of the sky's light, too.
            edge = steps(self.log, where & self.lit, where & ~self.lit)
            drop = np.median(edge, axis=0).astype(np.float64) if len(edge) else np.zeros(3)
            if float(drop @ LUMINANCE) < THERE * usual:
                self._absent.add(int(index))
            else:
                found[int(index)] = _Levels(lit, drop)
        return found

    def _ratio(self, found: dict[int, _Levels]) -> F:
        """Return (3,) the sun's light on a face square to it, over the sky's."""
        each = [
            np.expm1(levels.drop) / self.cosine[index]
            for index, levels in found.items()
            if self.cosine[index] > 0.1
        ]
        return np.median(each, axis=0) if each else np.full(3, self.sun.ratio)

    def _shaded(self, where: B, levels: _Levels) -> B:
        """Return (H, W) which pixels of a face are in shade."""
        from scipy.ndimage import binary_erosion, distance_transform_edt, gaussian_filter

        rows, columns = (slice(*np.flatnonzero(where.any(a))[[0, -1]] + (0, 1)) for a in (1, 0))
        box = (rows, columns)
        inside = where[box].astype(np.float32)
        sigma = SMOOTH * self.wide
        weight = gaussian_filter(inside, sigma) + 1e-6
        smooth = np.stack(
            [gaussian_filter(self.log[box][..., k] * inside, sigma) / weight for k in range(3)], -1
        )
        near = [
            np.exp(-((smooth - level) ** 2).mean(-1) / (2 * SPREAD**2)) + OTHER
            for level in (levels.lit - levels.drop, levels.lit)
        ]
        colour = np.clip(np.log(near[0] / near[1]), -1.5, 1.5) / 1.5
        lit = self.lit[box]
        edge = np.minimum(distance_transform_edt(lit), distance_transform_edt(~lit))
        sure = np.clip(edge / (2 * INSIDE * self.wide), 0, 1)
        # The model's outlines are a little off: there a face is in shade if it looks like it.
        outline = ~binary_erosion(where[box], iterations=max(1, round(OUTLINE * self.wide)))
        model = np.where(lit | outline, -1, 1) * sure
        out = np.zeros(where.shape, bool)
        out[box] = (BY_MODEL * model + BY_COLOUR * colour > 0) & where[box]
        return out

    def _mended(self, even: F32, rim: B) -> F32:
        """Return a picture whose pixels at the edges of shadows are taken from those beside."""
        from scipy.ndimage import gaussian_filter

        if not rim.any():
            return even
        out = even.copy()
        sigma = 1.5 * RIM * self.wide
        keep = (self.seen & ~rim).astype(np.float32)
        weight = gaussian_filter(keep, sigma)
        good = rim & (weight > 0.02)
        for k in range(3):
            out[..., k][good] = (gaussian_filter(even[..., k] * keep, sigma) / (weight + 1e-6))[
                good
            ]
        return out


def _edge(shaded: B, where: B, reach: float) -> B:
    """Return (H, W) pixels of a face that are close to the edge of a shadow on it."""
    from scipy.ndimage import binary_dilation

    size = max(1, round(reach))
    dark = binary_dilation(shaded, iterations=size)
    lit = binary_dilation(where & ~shaded, iterations=size)
    return np.asarray(dark & lit & where)
