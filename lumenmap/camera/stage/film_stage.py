"""`FilmStage`: shows drawn on the dark frames of a film, with the light that was measured in it.

Near a lamp the film is clipped and coarse, so light is split: what falls on the house, with the
lamps themselves taken out, and the lamps, drawn as in any picture.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from lumenmap.camera.film.read import SMALLER
from lumenmap.camera.lens.shot import Shot
from lumenmap.camera.stage.measured import Measured
from lumenmap.colour.transfer import to_linear
from lumenmap.parts.light import as_seen
from lumenmap.pictures.light.preview import BLOCK, Frames, Preview
from lumenmap.pictures.light.tone import STEPS, tone_table
from lumenmap.pictures.scene.look import Look
from lumenmap.site import Site

F32 = NDArray[np.float32]

#: Light this near to a lamp is the lamp itself, in pixels of the measured light, and what takes its
#: place is averaged over so many.
LAMP, AROUND = 2.0, 5.0
#: Full white is put here by the exposure, at this share of what is lit: as in other pictures.
AIM, BRIGHT, LIT = 0.40, 0.75, 0.004


class FilmStage(Preview):
    """Pictures of a house's pixels on the film of its survey.

    Parameters
    ----------
    site
        The house with its pixels.
    measured
        The house as the film shows it.
    width
        Width of the pictures in pixels.
    stops
        Exposure, added to the picture's own.
    as_filmed
        Leave the exposure as the film has it.
    cache
        Keep the lamps' images in the user's cache folder.
    """

    def __init__(
        self,
        site: Site,
        measured: Measured,
        *,
        width: int = 1280,
        stops: float = 0.0,
        as_filmed: bool = False,
        cache: bool = False,
    ) -> None:
        shot = measured.shot
        camera = shot.flat(width)
        look = Look("night", trees=False, stops=stops)
        super().__init__(
            site,
            width=width,
            height=camera.height,
            view=camera,
            look=look,
            cache=cache,
        )
        self._kind = site.house.kind
        self._starts = measured.starts
        self._count = np.diff([*measured.starts, len(site.pixels)]).astype(np.float32)
        self._film_dark = shot.flatten(to_linear(measured.dark / 255).astype(np.float32), width)
        self._far(measured, shot)
        shown = sparse.diags_array(measured.seen.astype(np.float32))
        self._images = (self.parts.images @ shown).tocsr()
        self._table = tone_table()
        self.exposure = (1.0 if as_filmed else self._own_exposure()) * 2**stops

    def _far(self, measured: Measured, shot: Shot) -> None:
        """Take the lamps out of the measured light, and flatten it to the picture's camera."""
        from scipy.ndimage import gaussian_filter

        small = Shot(
            shot.position,
            shot.turn,
            shot.focal / SMALLER,
            (shot.centre[0] / SMALLER, shot.centre[1] / SMALLER),
            (shot.size[0] // SMALLER, shot.size[1] // SMALLER),
            shot.radial,
        )
        colours, share = measured.colours, measured.share
        h, w = share.shape[1:]
        near = _near_lamps(self.parts.places * (w / self.width), measured.seen, (h, w))
        away = (~near).astype(np.float32)
        weight = gaussian_filter(away, AROUND) + 1e-3
        clean = colours.copy()
        for c in range(3):
            for k in range(3):
                soft = gaussian_filter(colours[c, :, :, k] * away, AROUND) / weight
                clean[c, :, :, k] = np.where(near, soft, colours[c, :, :, k])
        smooth = np.stack([gaussian_filter(s, 1.2) for s in share])
        width = min(self.width, w)
        self._small = small.flat(width)
        self._colours_far = np.stack([small.flatten(c, width) for c in clean])
        self._share = small.flatten(np.ascontiguousarray(smooth.transpose(1, 2, 0)), width)

    def _own_exposure(self) -> float:
        full = self._falling(np.ones((1, int(self._count.sum()), 3), np.float32))[0]
        bright = full @ np.array([0.2126, 0.7152, 0.0722], np.float32)
        lit = bright[bright > LIT]
        return min(1.0, AIM / float(np.quantile(lit, BRIGHT))) if len(lit) else 1.0

    def _falling(self, channels: F32) -> F32:
        """Return (t, h, w, 3) the light that falls on the house, of (t, N, 3) channel light."""
        mean = np.add.reduceat(channels, self._starts, axis=1) / self._count[:, None]
        part = np.einsum("hwg,tgc->thwc", self._share, mean, optimize=True)
        made = np.einsum("thwc,chwk->thwk", part, self._colours_far, optimize=True)
        return np.asarray(made, np.float32)

    def frames(self, light: F32) -> Frames:
        """Return (T, H, W, 3) sRGB pictures of (T, N, 3) light of the channels, 0..1.

        Not as it looks: the film has the dies' own colours.
        """
        light = np.asarray(light, np.float32)[..., :3]
        out = np.empty((len(light), self.height, self.width, 3), np.uint8)
        for first in range(0, len(light), BLOCK):
            out[first : first + BLOCK] = self._block(light[first : first + BLOCK])
        return out

    def _block(self, light: F32) -> Frames:
        from scipy.ndimage import map_coordinates

        falling = self._falling(light)
        seen = as_seen(light, self._kind)
        columns = np.ascontiguousarray(seen.transpose(1, 0, 2)).reshape(light.shape[1], -1)
        lamps = (self._images @ columns).reshape(self.height, self.width, len(light), 3)
        y, x = np.mgrid[0 : self.height, 0 : self.width].astype(np.float32)
        scale = self._small.width / self.width
        at = np.stack([(y + 0.5) * scale - 0.5, (x + 0.5) * scale - 0.5])
        out = np.empty((len(light), self.height, self.width, 3), np.uint8)
        for t in range(len(light)):
            whole = self._film_dark + lamps[:, :, t]
            for k in range(3):
                whole[..., k] += map_coordinates(falling[t, ..., k], at, order=1, mode="nearest")
            steps = np.maximum(whole * np.float32(STEPS * self.exposure), 0).astype(np.intp)
            out[t] = self._table.take(steps, mode="clip")
        return out


def _near_lamps(places: F32, seen: NDArray[np.bool_], shape: tuple[int, int]) -> NDArray[np.bool_]:
    """Return (h, w) where the measured light is that of a lamp itself.

    The lamps' places are those in the flat picture; the lens moves them by less than `LAMP`.
    """
    from scipy.ndimage import distance_transform_edt

    free = np.ones(shape, bool)
    at = np.floor(places[seen]).astype(int)
    inside = (at[:, 0] >= 0) & (at[:, 0] < shape[1]) & (at[:, 1] >= 0) & (at[:, 1] < shape[0])
    free[at[inside, 1], at[inside, 0]] = False
    if free.all():
        return ~free
    return np.asarray(distance_transform_edt(free) <= LAMP)
