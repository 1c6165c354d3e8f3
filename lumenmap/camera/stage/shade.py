"""`without_sun`: a photograph as though no sun had shone on the house.

Strategy: where the model has the shadows of a found sun, the photograph says how dark they are, and
of what colour (light from the sky alone is bluer). Each pixel of a face is then in the sun or in
shade: by the model, but near the edge of a shadow, and where something that isn't in the model
throws one, by its own colour, if that is the face's in the sun or the face's in shade. What fell on
it is divided out. What differs otherwise, such as shutters or plants, stays as it is.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.stage.faces import Faces, in_sun
from lumenmap.camera.stage.open_sky import open_sky
from lumenmap.camera.stage.sun import Sun, find_sun, steps

F = NDArray[np.float64]
F32 = NDArray[np.float32]
B = NDArray[np.bool_]
Box = tuple[slice, slice]

#: Relative luminance of linear sRGB (IEC 61966-2-1).
LUMINANCE = np.array([0.2126, 0.7152, 0.0722], np.float32)
#: Surfaces whose shadows are judged by their own pixels, and so many of these in the sun and in
#: shade, this far (part of the width) from the edge of a shadow.
JUDGED, FEWEST, INSIDE = ("wall", "door", "roof", "ground", "street", "path", "step"), 40, 0.006
#: Surfaces that sun and sky light otherwise: panes mirror the sky, lamps are off.
LEFT = ("glass", "curtain", "lantern", "tree", "shrub")
#: Surfaces that aren't flat: what the model says of their shadows needs their own pixels to say so.
UNEVEN = ("ground", "street", "path", "step")
#: A face's colour in the sun or in shade, and how far (log) a pixel's may be from it.
SPREAD, OTHER = 0.16, 1e-3
#: What the model and what the colour say at most, as log odds; a colour says so from this on.
BY_MODEL, BY_COLOUR, SURE = 2.5, 4.5, 1.5
#: A pixel brighter (log) than its face's usual shade by this isn't in it.
BRIGHTER = 0.7
#: Shadows that are less than this part of what the sun's light makes them aren't there.
THERE = 0.5
#: Colours are smoothed by this part of the width, and at the edges of shadows taken from beside.
SMOOTH, RIM = 0.0025, 0.003
#: From the first (linear) on a photograph gets white, from the second on it is, however much
#: brighter a board may be; and the darkest face by which the light is judged.
WHITE, REFLECTS = (0.75, 0.95), 0.03
#: How far outlines of the model may be from the photograph's (part of the width).
OUTLINE = 0.003


def without_sun(photo: F32, faces: Faces) -> F32:
    """Return a photograph (H, W, 3), linear, without the sun's light and its shadows.

    Where no sun is found it is the same photograph.
    """
    sun = find_sun(photo @ LUMINANCE, faces)
    return photo if sun is None else _Evening(photo, faces, sun).made()


@dataclass(frozen=True, slots=True, eq=False)
class _Levels:
    """(3,) log colour of a face under open sky, and the sun's light on it over an open sky's."""

    own: F
    shine: F


class _Evening:
    def __init__(self, photo: F32, faces: Faces, sun: Sun) -> None:
        self.photo, self.faces, self.sun = photo, faces, sun
        self.wide = photo.shape[1]
        seen = (faces.which >= 0) & ~faces.of(*LEFT)
        self.lit = np.zeros(seen.shape, bool)
        self.lit[seen] = in_sun(sun.towards, faces, seen)
        self.seen = seen
        self.sky = open_sky(faces, seen)
        self.log = np.log(np.maximum(photo, 1e-4))
        self.cosine = np.maximum(faces.normals @ sun.towards, 0)
        self.found: dict[int, _Levels] = {}
        self.absent: set[int] = set()

    def made(self) -> F32:
        """Return the photograph without the sun's light."""
        self._measure()
        ratio, sky = self._ratio(), self._sky()
        ground = np.log1p(ratio * max(float(self.sun.towards[2]), 0.0))
        even = self.photo.copy()
        for index in np.unique(self.faces.which[self.seen]).tolist():
            box = _box(self.faces.which == index)
            where = (self.faces.which[box] == index) & self.seen[box]
            shine, shaded = ratio * self.cosine[index], where & ~self.lit[box]
            if index in self.found:
                shine, shaded = self.found[index].shine, self._shaded(box, where, index)
            elif index in self.absent or self.faces.surfaces[index].kind in UNEVEN:
                shaded &= False
            else:
                where &= ~self._not_shade(box, shaded)
            fell = self._more(shine, box) * (1 - shaded[..., None].astype(np.float32)) - ground
            made = (self.photo[box] * np.exp(-fell)).astype(np.float32)
            least = self.sky[box][..., None] * sky * self.faces.surfaces[index].colour
            least *= np.exp(ground)
            made += self._white(box, where & ~shaded) * np.maximum(least - made, 0)
            rim = _edge(shaded, where, RIM * self.wide)
            even[box][where] = _mended(made, where, rim, RIM * self.wide)[where]
        return even

    def _more(self, shine: F, box: Box) -> F:
        """Return (h, w, 3) how much (log) brighter the sun makes a face, by its sky."""
        return np.log1p(shine / np.maximum(self.sky[box], 1e-3)[..., None])

    def _not_shade(self, box: Box, shaded: B) -> B:
        """Return which pixels are too bright for shade: they show what is beside a face."""
        bright = self.log[box] @ LUMINANCE
        usual = float(np.median(bright[shaded])) if shaded.any() else 0.0
        return np.asarray(shaded & (bright > usual + BRIGHTER))

    def _measure(self) -> None:
        """Find the levels of faces on which sun and shade are both seen, and where they aren't."""
        from scipy.ndimage import binary_erosion

        size = max(1, round(INSIDE * self.wide))
        judged = self.faces.of(*JUDGED) & self.seen
        for index in np.unique(self.faces.which[judged]):
            where = self.faces.which == index
            inner = [
                binary_erosion(where & part, iterations=size) for part in (self.lit, ~self.lit)
            ]
            if min(int(part.sum()) for part in inner) < FEWEST:
                continue
            usual = np.log1p(self.sun.ratio * self.cosine[index])
            edge = steps(self.log, where & self.lit, where & ~self.lit)
            drop = np.median(edge.by, axis=0) if len(edge.by) else np.zeros(3)
            if float(drop @ LUMINANCE) < THERE * usual:
                self.absent.add(int(index))
                continue
            # At the edge the sky is the same on both sides: under an eave there is less of it, and
            # the sun's light is more times as much.
            shines = np.expm1(edge.by) * self.sky[edge.at][:, None]
            shine = np.median(shines, axis=0).astype(np.float64)
            fell = np.log(self.sky[inner[0]][:, None] + shine)
            own = np.median(self.log[inner[0]] - fell, axis=0).astype(np.float64)
            self.found[int(index)] = _Levels(own, shine)

    def _ratio(self) -> F:
        """Return (3,) the sun's light on a face square to it, over the sky's."""
        each = [
            levels.shine / self.cosine[index]
            for index, levels in self.found.items()
            if self.cosine[index] > 0.1
        ]
        return np.median(each, axis=0) if each else np.full(3, self.sun.ratio)

    def _white(self, box: Box, where: B) -> F32:
        """Return (h, w, 1) 0..1: how white a photograph is, where it may have been brighter."""
        from scipy.ndimage import gaussian_filter

        sigma, weight = SMOOTH * self.wide, where.astype(np.float32)
        bright = gaussian_filter(self.photo[box].max(-1) * weight, sigma)
        bright /= gaussian_filter(weight, sigma) + np.float32(1e-6)
        part = np.clip((bright - WHITE[0]) / (WHITE[1] - WHITE[0]), 0, 1)
        return np.asarray((part * weight)[..., None], np.float32)

    def _sky(self) -> F:
        """Return (3,) how bright an open sky makes a white face; 0 if that isn't known."""
        surfaces = self.faces.surfaces
        each = [
            np.exp(levels.own) / np.maximum(surfaces[index].colour, REFLECTS)
            for index, levels in self.found.items()
            if surfaces[index].kind not in UNEVEN
        ]
        return np.median(each, axis=0) if each else np.zeros(3)

    def _shaded(self, box: Box, where: B, index: int) -> B:
        """Return which pixels of a face, in the box around it, are in shade."""
        from scipy.ndimage import binary_erosion, distance_transform_edt, gaussian_filter

        sigma, levels = SMOOTH * self.wide, self.found[index]
        weight = gaussian_filter(where.astype(np.float32), sigma) + 1e-6
        mine = self.log[box] * where[..., None]
        smooth = gaussian_filter(mine, (sigma, sigma, 0)) / weight[..., None] - levels.own
        sky = np.maximum(self.sky[box], 1e-3)[..., None]
        near = [
            np.exp(-((smooth - np.log(light)) ** 2).mean(-1) / (2 * SPREAD**2)) + OTHER
            for light in (sky, sky + levels.shine)
        ]
        colour = np.clip(np.log(near[0] / near[1]), -SURE, SURE) / SURE
        lit = self.lit[box]
        edge = np.minimum(distance_transform_edt(lit), distance_transform_edt(~lit))
        # The model's outlines are a little off: there a face is in shade if it looks like it.
        outline = ~binary_erosion(where, iterations=max(1, round(OUTLINE * self.wide)))
        model = np.where(lit | outline, -1, 1) * np.clip(edge / (2 * INSIDE * self.wide), 0, 1)
        return np.asarray((BY_MODEL * model + BY_COLOUR * colour > 0) & where)


def _box(where: B) -> Box:
    """Return the rows and columns that a mask needs."""
    rows, columns = (np.flatnonzero(where.any(axis)) for axis in (1, 0))
    return slice(rows[0], rows[-1] + 1), slice(columns[0], columns[-1] + 1)


def _mended(even: F32, where: B, rim: B, reach: float) -> F32:
    """Return a face whose pixels at the edges of shadows are taken from those beside."""
    from scipy.ndimage import gaussian_filter

    if not rim.any():
        return even
    keep = (where & ~rim).astype(np.float32)
    weight = gaussian_filter(keep, 1.5 * reach)
    beside = gaussian_filter(even * keep[..., None], (1.5 * reach, 1.5 * reach, 0))
    good = rim & (weight > 0.02)
    even[good] = beside[good] / weight[good][:, None]
    return even


def _edge(shaded: B, where: B, reach: float) -> B:
    """Return which pixels of a face are close to the edge of a shadow on it."""
    from scipy.ndimage import binary_dilation

    if not shaded.any() or shaded[where].all():
        return np.zeros(where.shape, bool)
    size = max(1, round(reach))
    dark = binary_dilation(shaded, iterations=size)
    lit = binary_dilation(where & ~shaded, iterations=size)
    return np.asarray(dark & lit & where)
