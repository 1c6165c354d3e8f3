"""`Search` and `Found`: how a camera is looked for, and what was found."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.lens.shot import FULL_FRAME, Shot

F = NDArray[np.float64]
B = NDArray[np.bool_]

#: Focal lengths tried, mm on full frame: ultra-wide to short telephoto lenses of phones.
LENSES = (13, 17, 20, 23, 26, 30, 35, 42, 52, 66, 85)


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """A camera and how well it fits.

    Attributes
    ----------
    shot
        The camera.
    offsets
        (K, 2) from where it projects each point to where the photograph shows it, in pixels.
    right
        (K,) whether a point fits.
    cost
        Robust cost per point; lower is better.
    """

    shot: Shot
    offsets: F
    right: B
    cost: float

    @property
    def residuals(self) -> F:
        """(K,) distances in pixels."""
        return np.asarray(np.linalg.norm(self.offsets, axis=1))


@dataclass(frozen=True, slots=True)
class Search:
    """How a camera is looked for.

    Attributes
    ----------
    size
        Width and height of the photograph.
    lens
        Focal length in mm on full frame if the photograph says it.
    noise
        How far a right point may be off, in pixels (one standard deviation).
    distortion
        Whether the lens's distortion is found too.
    seed
        Chooses the samples.
    """

    size: tuple[int, int]
    lens: float | None = None
    noise: float = 2.0
    distortion: bool = True
    seed: int = 1

    @property
    def focals(self) -> list[float]:
        """Focal lengths to try, in pixels."""
        lenses = LENSES if self.lens is None else (self.lens,)
        return [lens * max(self.size) / FULL_FRAME for lens in lenses]
