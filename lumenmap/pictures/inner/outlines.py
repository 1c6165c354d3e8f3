"""`Outlines`: faces as what light meets, as arrays that any loop can read."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

F64 = NDArray[np.float64]
Ints = NDArray[np.int64]


class Outlines(NamedTuple):
    """F flat faces, each flattened onto two of the axes.

    Attributes
    ----------
    planes
        (F, 4): unit normals, and the level of the plane along it (m).
    margins
        (F,): how near to its plane a point counts as on it (m).
    axes
        (F, 2): the two axes onto which a face is flattened.
    ends
        (F + 1,): where the corners of each face begin, and the end.
    corners
        (V, 2): corners on those axes (m), one face after the other.
    """

    planes: F64
    margins: F64
    axes: Ints
    ends: Ints
    corners: F64
