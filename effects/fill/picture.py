"""A picture, still or animated, over the front of the house."""

from __future__ import annotations

from typing import Annotated, Literal, get_args

import numpy as np

from lumenmap.colour.dim import dim
from lumenmap.colour.palette import Light, Palette
from lumenmap.colour.transfer import to_linear
from lumenmap.motion.at import At, F
from lumenmap.motion.options import FT, IN, Choice, Length, Picture, Share, Speed
from lumenmap.motion.raster import Raster, sample
from lumenmap.motion.shapes import there_and_back
from lumenmap.motion.varying import Varying, highest, lowest, moved, now

#: CSS Images Level 3, object-fit; "stretch" is the same as "fill".
Fit = Literal["cover", "contain", "fill", "stretch"]
_DRIFT = 0.15  # of the lattice, to the right and down (m/s)
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
    width: Annotated[
        float | None, Length("how wide it is", low=6 * IN, high=1000 * FT, unset="as fit says")
    ] = None,
    up: Annotated[Varying, Share("height of its middle, of the house's")] = 0.5,
) -> Light:
    """Show a picture, still, animated or moving across, in the front view of the house.

    Found by: photo, image, logo, word, text, letters, animation, gif, writing, name.
    """
    x, z = at.xyz[:, 0] - at.low[0], at.high[2] - at.xyz[:, 2]
    wide, high = np.maximum(at.high - at.low, 1e-3)[[0, 2]]
    panned, pans = moved(pan, t), bool(highest(pan) or lowest(pan))
    if file is None:
        return _lattice(palette, x - panned - _DRIFT * t, z - _DRIFT * t, t)
    rows, columns = file.srgb.shape[1:3]
    # Pixels of the picture per metre, each way.
    along = np.array([columns / wide, rows / high])
    if width is not None:
        along[:] = columns / width
    elif fit in ("cover", "contain"):
        along[:] = along.min() if fit == "cover" else along.max()
    u = (x - wide / 2 - panned) * along[0] + columns / 2
    if pans and width is None:
        u = u % columns
    elif pans:  # a small one comes in at one end when it has left at the other, clear of both
        u = (u + (wide + width) / 2 * along[0] + 1) % ((wide + width) * along[0] + 2)
    v = np.broadcast_to((z - high * (1 - now(up))) * along[1] + rows / 2, u.shape)
    frame = np.searchsorted(file.ends, moved(play, t)[:, 0] % file.ends[-1], side="right")
    frame = np.minimum(frame, len(file.ends) - 1)[:, None]
    return sample(file.srgb, _LIGHT, frame, u - 0.5, v - 0.5)


def _lattice(palette: Palette, x: F, z: F, t: F) -> Light:
    """Draw a drifting lattice of diamonds, each breathing in turn, if there is no picture."""
    across, down = (x + z) / 2, (x - z) / 2
    number = np.floor(across) + 2 * np.floor(down)
    shape = (there_and_back(across) * there_and_back(down)) ** 0.35
    level = shape * (0.15 + 0.85 * there_and_back(t / 5 + number / 3) ** 2)
    return dim(palette.stop(number), level)
