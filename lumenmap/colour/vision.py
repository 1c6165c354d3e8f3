"""Colours as people see them who lack one kind of cone.

Source: G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, "A Physiologically-based Model for
Simulation of Color Vision Deficiency", IEEE TVCG 15(6), 2009: the matrices of severity 1.0, which
work on linear sRGB.
"""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lumenmap.colour.matrix import Matrix, times

F = NDArray[np.float64]

Kind = Literal["protanopia", "deuteranopia", "tritanopia"]
#: Kind to matrix: without red, green and blue cones.
KINDS: dict[Kind, Matrix] = {
    "protanopia": (
        (0.152286, 1.052583, -0.204868),
        (0.114503, 0.786281, 0.099216),
        (-0.003882, -0.048116, 1.051998),
    ),
    "deuteranopia": (
        (0.367322, 0.860646, -0.227968),
        (0.280085, 0.672501, 0.047413),
        (-0.011820, 0.042940, 0.968881),
    ),
    "tritanopia": (
        (1.255528, -0.076749, -0.178779),
        (-0.078411, 0.930809, 0.147602),
        (0.004733, 0.691367, 0.303900),
    ),
}


def seen_by(kind: Kind, linear: ArrayLike) -> F:
    """Return linear sRGB (..., 3), 0..1, as ``kind`` of `KINDS` sees it."""
    return np.clip(times(KINDS[kind], linear), 0, 1)
