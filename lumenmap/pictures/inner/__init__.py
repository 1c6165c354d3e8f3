"""The innermost loops of pictures, twice: in C (`c`, called by `compiled`) and in numpy (`plain`).

Strategy: for each pixel of a frame, and for each pair of a lamp and a point of a face, there is
little to compute, and numpy passes over memory for each step of it. So these loops are written in
C, too. They are compiled when lumenmap is installed; where there is no compiler, or the module
doesn't load, those in numpy do the same, two to ten times as slowly. Tests hold them to each other.
"""

from __future__ import annotations

__all__ = [
    "BLOCK",
    "UNKNOWN",
    "CellTable",
    "Mixing",
    "Nodes",
    "Outlines",
    "Painter",
    "SparseRows",
    "apart",
    "blocked",
    "image",
    "learn",
    "moved",
    "nearest",
    "product",
    "shine",
    "sunlit",
    "within",
]

from lumenmap.pictures.inner.cells import UNKNOWN, CellTable, Mixing
from lumenmap.pictures.inner.outlines import Outlines
from lumenmap.pictures.inner.rows import SparseRows

try:
    from lumenmap.pictures.inner.compiled import (
        BLOCK,
        Nodes,
        Painter,
        image,
        learn,
        moved,
        nearest,
        product,
    )
    from lumenmap.pictures.inner.light_compiled import apart, blocked, shine, sunlit, within
except ImportError:
    from lumenmap.pictures.inner.light_plain import apart, blocked, shine, sunlit, within
    from lumenmap.pictures.inner.plain import (  # type: ignore[assignment]
        BLOCK,
        Nodes,
        Painter,
        image,
        learn,
        moved,
        nearest,
        product,
    )
