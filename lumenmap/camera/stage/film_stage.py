"""`FilmStage`: shows drawn on the dark frames of a film, with the light that was measured in it.

Nothing is drawn: a picture is the dark house and what each group of pixels adds to it, as the film
shows it, lamps included. So there are no edges between what is measured and what is made.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.extra import opencv
from lumenmap.camera.lens.shot import Shot
from lumenmap.camera.stage.measured import Measured
from lumenmap.camera.stage.near import BEHIND, CORE, Lamps, near_weights
from lumenmap.colour.transfer import to_linear, to_srgb
from lumenmap.pictures.drawn.preview import Frames
from lumenmap.pictures.drawn.tone import STEPS, tone_table
from lumenmap.pictures.scene.rails import lamp_places
from lumenmap.site import Site

F32 = NDArray[np.float32]

#: Full white is put here by the exposure, at this share of what is lit: as in other pictures.
AIM, BRIGHT, LIT = 0.40, 0.75, 0.004


class FilmStage:
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
        Leave exposure and tones as the film has them.
    """

    def __init__(
        self,
        site: Site,
        measured: Measured,
        *,
        width: int = 1280,
        stops: float = 0.0,
        as_filmed: bool = False,
    ) -> None:
        shot = measured.shot
        camera = shot.flat(width)
        self.width, self.height = camera.width, camera.height
        self._starts = measured.starts
        self._count = np.diff([*measured.starts, len(measured.lamps)])
        dark = to_linear(measured.dark / 255).astype(np.float32)
        self._dark = shot.flatten(dark, width)
        self._colours = np.stack([shot.flatten(c, width) for c in measured.colours])
        g, h, w = measured.share.shape
        share = np.ascontiguousarray(measured.share.transpose(1, 2, 0))
        self._share = _small(shot, (w, h)).flatten(share, min(w, width)).reshape(-1, g)
        self._size = min(w, width), len(self._share) // min(w, width)
        lamps = _lamps(site, measured, width)
        self._near = near_weights(lamps, measured.starts, (self.width, self.height))
        self._group_of = np.repeat(np.arange(g), self._count)
        self._weigh()
        table = to_srgb(np.arange(STEPS + 1) / STEPS) * 255
        self._table = np.round(table).astype(np.uint8) if as_filmed else tone_table()
        self.exposure = 1.0 if as_filmed else self._own_exposure() * 2**stops

    def _weigh(self) -> None:
        """Multiply what follows each lamp by what its group throws there."""
        near = self._near.tocsc()
        for g, first in enumerate(self._starts.tolist()):
            share = self._whole(self._share[:, g]).ravel()
            begin, end = near.indptr[first], near.indptr[first + int(self._count[g])]
            near.data[begin:end] *= share[near.indices[begin:end]]
        self._near = near.tocsr()

    def _whole(self, small: F32) -> F32:
        """Return a small picture, flattened, as large as the pictures."""
        cv = opencv()
        w, h = self._size
        shaped = np.ascontiguousarray(small.reshape(h, w, *small.shape[1:]))
        made: F32 = cv.resize(shaped, (self.width, self.height), interpolation=cv.INTER_LINEAR)
        return made

    def _own_exposure(self) -> float:
        full = self._added(np.ones((len(self._group_of), 3), np.float32))
        bright = full @ np.array([0.2126, 0.7152, 0.0722], np.float32)
        lit = bright[bright > LIT]
        return min(1.0, AIM / float(np.quantile(lit, BRIGHT))) if len(lit) else 1.0

    def _added(self, channels: F32) -> F32:
        """Return (H, W, 3) what the channels' light (N, 3) adds to the dark house."""
        mean = np.add.reduceat(channels, self._starts, axis=0) / self._count[:, None]
        mean = mean.astype(np.float32)
        part = self._whole(np.asarray(self._share @ mean, np.float32))
        apart = self._near @ (channels - mean[self._group_of])
        part = np.maximum(part + apart.reshape(part.shape), 0)
        made = part[..., :1] * self._colours[0]
        for k in (1, 2):
            made += part[..., k : k + 1] * self._colours[k]
        return np.asarray(made, np.float32)

    def frames(self, light: F32) -> Frames:
        """Return (T, H, W, 3) sRGB pictures of (T, N, 3) light of the channels, 0..1.

        Not as it looks: the film has the dies' own colours.
        """
        out = np.empty((len(light), self.height, self.width, 3), np.uint8)
        for t, own in enumerate(np.asarray(light, np.float32)[..., :3]):
            whole = (self._dark + self._added(own)) * np.float32(STEPS * self.exposure)
            out[t] = self._table.take(whole.astype(np.intp), mode="clip")
        return out

    def still(self, light: F32) -> Frames:
        """Return one (H, W, 3) sRGB picture of (N, 3) light of the channels."""
        picture: Frames = self.frames(np.asarray(light, np.float32)[None])[0]
        return picture


def _small(shot: Shot, size: tuple[int, int]) -> Shot:
    """Return the camera of a smaller picture."""
    part = size[0] / shot.size[0]
    centre = (shot.centre[0] * part, shot.centre[1] * part)
    return Shot(shot.position, shot.turn, shot.focal * part, centre, size, shot.radial)


def _lamps(site: Site, measured: Measured, width: int) -> Lamps:
    """Return the lamps in a flat picture: where the film shows them, else where the map says."""
    shot = measured.shot
    camera = shot.flat(width)
    model, _ = lamp_places(site)
    seen = np.asarray(np.isfinite(measured.lamps).all(1))
    places, depth = camera.project(model)
    rays = shot.rays(np.where(seen[:, None], measured.lamps, np.asarray(shot.centre)))
    shown, _ = camera.project(camera.position + rays)
    places = np.where(seen[:, None], shown, places)
    places[~seen & (depth < 0.5)] = np.nan
    behind = BEHIND * camera.focal / np.maximum(depth, 0.5)
    core = max(0.7, CORE * width / shot.size[0])
    return Lamps(places, seen, np.maximum(behind, 2.0), core)
