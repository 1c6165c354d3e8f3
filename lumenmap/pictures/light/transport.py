"""`Transport`: how light gets from the lamps into the picture."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.pictures.inner import SparseRows

F32 = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Transport:
    """Light from lamps to picture.

    Attributes
    ----------
    base
        (H·W, 3) linear light without lamps.
    mix
        (H·W, P) sparse: mesh nodes to pixels of the picture.
    images
        (H·W, N) sparse: the image of each lamp.
    wash
        (P, G) sparse: radiance per group of lamps, before the colour of the face, with what other
        faces throw back on it.
    colours
        (P, 3): colour of the face under each node, tinted as that light is.
    starts, share
        (G,): first lamp of each group, and 1 / its number of lamps.
    places, levels
        (N, 2), (N,): position of each lamp in the picture, and brightness of its core.
    """

    base: F32
    mix: SparseRows
    images: SparseRows
    wash: SparseRows
    colours: F32
    starts: NDArray[np.int64]
    share: F32
    places: F32
    levels: F32
