"""A picture, still or animated, over the front of the house."""

from __future__ import annotations

from typing import Annotated, Literal, get_args

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.colour.transfer import to_linear
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, Choice, Picture, Share, Speed
from lumenmap.motion.raster import Raster, sample
from lumenmap.motion.shapes import there_and_back
from lumenmap.motion.varying import Varying, highest, lowest, moved

#: CSS Images Level 3, object-fit; "stretch" is the same as "fill".
Fit = Literal["cover", "contain", "fill", "stretch"]
#: The lattice drifts this fast to the right and down (m/s).
_DRIFT = 0.15
#: Linear light of each sRGB code: light is mixed, not its codes.
_LIGHT = to_linear(np.arange(256) / 255).astype(np.float32)


def picture(
    at: At,
    t: F,
    palette: Palette,
    /,
    *,
    file: Annotated[
        Raster | None, Picture("the picture", unset="a lattice in the palette's colours")
    ] = None,
    fit: Annotated[Fit, Choice("how it fits the front", names=get_args(Fit))] = "cover",
    play: Annotated[
        Varying, Share("speed of an animated picture, as a fraction of its own", low=0, high=10)
    ] = 1.0,
    pan: Annotated[
        Varying, Speed("how fast it moves to the right", low=-30 * FT, high=30 * FT)
    ] = 0.0,
) -> Light:
    """Show a picture, still or animated, in the front view of the house.

    Found by: photo, image, logo, word, text, letters, animation, gif, writing, name.
    """
    x, z = at.xyz[:, 0] - at.low[0], at.high[2] - at.xyz[:, 2]
    wide = max(float(at.high[0] - at.low[0]), 1e-3)
    high = max(float(at.high[2] - at.low[2]), 1e-3)
    panned = moved(pan, t)
    if file is None:
        return _lattice(palette, x - panned - _DRIFT * t, z - _DRIFT * t, t)
    rows, columns = file.srgb.shape[1:3]
    # Pixels of the picture per metre, each way.
    along = np.array([columns / wide, rows / high])
    if fit in ("cover", "contain"):
        along[:] = along.min() if fit == "cover" else along.max()
    u = (x - wide / 2 - panned) * along[0] + columns / 2
    v = np.broadcast_to((z - high / 2) * along[1] + rows / 2, u.shape)
    if highest(pan) or lowest(pan):
        u = u % columns
    moment = moved(play, t)[:, 0] % file.ends[-1]
    frame = np.searchsorted(file.ends, moment, side="right")
    return sample(
        file.srgb, _LIGHT, np.minimum(frame, len(file.ends) - 1)[:, None], u - 0.5, v - 0.5
    )


def _lattice(palette: Palette, x: F, z: F, t: F) -> Light:
    """Draw a drifting lattice of diamonds, each breathing in turn, if there is no picture."""
    across, down = (x + z) / 2, (x - z) / 2
    number = np.floor(across) + 2 * np.floor(down)
    shape = (there_and_back(across) * there_and_back(down)) ** 0.35
    level = shape * (0.15 + 0.85 * there_and_back(t / 5 + number / 3) ** 2)
    return dim(palette.stop(number), level)
