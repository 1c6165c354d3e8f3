"""`Measured`: how much light each group of pixels throws where, measured in a film.

Light adds up. Each picture of the blinking lights known pixels, so every place of the film gives as
many equations as there are pictures, for as many unknowns as there are groups: all groups are
measured at once, with the noise spread over all pictures (Schechner, Nayar and Belhumeur,
"Multiplexing for optimal lighting", 2007 [P]). The colours come from the pictures in which all
pixels show one channel.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.blinks.blinking import FPS, Blinking
from lumenmap.camera.extra import opencv
from lumenmap.camera.film.gathered import smaller
from lumenmap.camera.film.read import Filmed
from lumenmap.camera.lens.shot import Shot
from lumenmap.colour.transfer import to_linear

F = NDArray[np.float64]
F32 = NDArray[np.float32]

#: Where all groups together are so many times the noise, half of what is seen is believed.
BELIEVED = 3.0
#: Places with less light than this part of the brightest aren't lit; fewer aren't asked.
UNLIT, FEWEST = 0.01, 100
#: Codes above this are clipped.
TOO_BRIGHT = 250
#: Pictures are kept no wider and no higher than this (pixels).
WIDEST = 1920


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """A house as a film shows it.

    Attributes
    ----------
    shot
        The film's camera, for pictures as large as ``dark``.
    dark
        (H, W, 3) the house without light, sRGB codes.
    colours
        (3, H, W, 3) what all pixels add with one channel at full: linear, R, G and B.
    share
        (G, h, w) which part of that each group of pixels throws.
    starts
        (G,) the first pixel of each group.
    lamps
        (N, 2) where the film shows a pixel itself, NaN for one that it doesn't.
    house
        SHA-256 of the house file.
    clipped
        Which part of what is lit was too bright for the film in some channel.
    """

    shot: Shot
    dark: NDArray[np.uint8]
    colours: F32
    share: F32
    starts: NDArray[np.int64]
    lamps: F
    house: str
    clipped: float = 0.0


def measure(
    film: Filmed,
    blinking: Blinking,
    codes: NDArray[np.uint8],
    house: str,
    shot: Shot,
    lamps: F,
) -> Measured:
    """Return the light of a filmed house.

    Parameters
    ----------
    codes
        (T, N, C) of the blinking as it was sent.
    house
        SHA-256 of the house file.
    lamps
        (N, 2) where the film shows a pixel itself, NaN for one that it doesn't.
    """
    sent = codes[..., :3].astype(np.float64) / 255
    level = np.array(
        [_frame(sent, p.start, p.stop)[:, p.place].mean() for p in _channels(blinking)]
    )
    part = min(1.0, WIDEST / max(film.size))
    shown = [_linear(film.colours[k] + film.dark, part) for k in range(3)]
    dark = _linear(film.dark, part)
    share, total, noise = _shares(film, blinking, sent)
    gains = [_gain(smaller(s), smaller(dark), total) for s in shown]
    cv = opencv()
    h, w = dark.shape[:2]
    square = cv.resize(cv.GaussianBlur(total, (0, 0), 1.0), (w, h)) ** 2
    believed = (square / (square + (BELIEVED * noise) ** 2))[..., None]
    added = np.stack([s / g - dark for s, g in zip(shown, gains, strict=True)])
    colours = np.maximum(added * believed, 0) / np.maximum(level, 1e-3)[:, None, None, None]
    starts = np.array(blinking.starts, np.int64)
    kept = _resized(np.clip(film.dark, 0, 255), part)
    return Measured(
        _scaled(shot, (w, h)),
        np.rint(kept).astype(np.uint8),
        colours.astype(np.float32),
        share,
        starts,
        lamps * part,
        house,
        _clipped(film, total),
    )


def _clipped(film: Filmed, total: F32) -> float:
    """Return which part of what is lit was too bright for the film in some channel."""
    bright = smaller((film.colours[:3] + film.dark).max((0, 3)))
    lit = total > UNLIT * float(np.quantile(total, 0.999))
    return float((bright[lit] > TOO_BRIGHT).mean()) if lit.any() else 0.0


def _linear(codes: F32, part: float) -> F32:
    """Return sRGB codes as linear light, in a picture as much smaller."""
    return _resized(to_linear(np.clip(codes, 0, 255) / 255).astype(np.float32), part)


def _resized(picture: F32, part: float) -> F32:
    if part == 1.0:
        return picture
    cv = opencv()
    h, w = picture.shape[:2]
    size = (round(w * part), round(h * part))
    made: F32 = cv.resize(picture, size, interpolation=cv.INTER_AREA)
    return made


def _scaled(shot: Shot, size: tuple[int, int]) -> Shot:
    """Return the camera of a picture of another size."""
    part = size[0] / shot.size[0]
    centre = (shot.centre[0] * part, shot.centre[1] * part)
    return Shot(shot.position, shot.turn, shot.focal * part, centre, size, shot.radial)


def _channels(blinking: Blinking) -> list[Any]:
    return [p for p in blinking.pictures if p.shows == "channel" and p.place < 3]


def _frame(sent: F, start: float, stop: float) -> F:
    """Return (N, 3) what was sent in the middle of a picture."""
    found: F = sent[int((start + stop) / 2 * FPS)]
    return found


def _gain(shown: F32, dark: F32, total: F32) -> float:
    """Return how much brighter the exposure of a picture was than that of the dark house.

    A phone's exposure drifts; places that no pixel lights say by how much.
    """
    calm = total < UNLIT * float(np.quantile(total, 0.999))
    bright = dark.mean(-1)
    calm &= bright > np.median(bright)
    if calm.sum() < FEWEST:
        return 1.0
    return float(np.median(shown.mean(-1)[calm] / bright[calm]))


def _shares(film: Filmed, blinking: Blinking, sent: F) -> tuple[F32, F32, float]:
    """Return (G, h, w) the part of each place's light that each group throws, its sum, its noise.

    A row less its inverse is the sum of all groups' light, each with the row's sign; and the rows
    of a Hadamard matrix are orthogonal, so that a sum over rows gives each group.
    """
    rows = {p.place: p for p in blinking.pictures if p.shows == "group" and not p.inverse}
    signs = blinking.rows[sorted(rows), 1 : len(blinking.starts) + 1].astype(np.float64)
    # The limiter may have dimmed some rows.
    level = np.array([_frame(sent, rows[k].start, rows[k].stop).max() for k in sorted(rows)])
    shown = film.groups / np.maximum(level, 1e-3)[:, None, None].astype(np.float32)
    light = np.einsum("rg,rhw->ghw", signs, shown) / (2 * len(signs))
    # Without the row of ones, the mean of all groups is missing from each sum.
    light += light.sum(0) / max(1, len(signs) + 1 - len(light))
    # Most groups throw no light on most places: what is there is noise.
    noise = 1.48 * float(np.median(np.abs(light)))
    cv = opencv()
    soft = np.stack([cv.GaussianBlur(g.astype(np.float32), (0, 0), 1.5) for g in light])
    clear = soft**2 / (soft**2 + (BELIEVED * noise) ** 2 + 1e-20)
    light = np.maximum(clear * light + (1 - clear) * soft, 0)
    total = light.sum(0)
    share = np.asarray(light / (total + noise + 1e-9), np.float32)
    return share, np.asarray(total, np.float32), noise * float(np.sqrt(len(light)))
