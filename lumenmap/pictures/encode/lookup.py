"""`Lookup`: from 8-bit colours to the nearest colours of a palette.

Strategy: colours are looked up by cells of similar ones. Of each cell that occurs it is worked out
once where its centre is in OKLab, its nearest palette colour, and how far away another may be to be
kept.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.colour.oklab import TO_LAB, TO_LMS
from lumenmap.pictures.encode.colour_cells import CELLS, MIDDLE, SPREAD, Frame, lab, packed
from lumenmap.pictures.inner import UNKNOWN, CellTable, Mixing

F32 = NDArray[np.float32]
Indices = NDArray[np.uint8]

#: How much worse than the nearest an old colour may be, relative to the distances in the palette:
#: the geometric mean of the nearest colour's own gap and the median gap.
HYSTERESIS = 0.49
#: But at most about what the eye can tell apart (OKLab; common practice, no source).
VISIBLE = 0.02
#: A single pixel between two that stay keeps its old colour up to this many times as far.
ALONE = 2.6
#: Two colours are mixed by a pattern if they are further apart than this (OKLab), so that a contour
#: would show, and from this share of their distance on. Elsewhere the pattern itself would be the
#: larger error: our choice, from pictures looked at.
MIXING = Mixing(shows=0.01, solid=0.25)


class Lookup:
    """The nearest colours of a palette.

    Parameters
    ----------
    palette
        (K ≤ 255, 3) sRGB.
    hysteresis
        As `HYSTERESIS`.

    Attributes
    ----------
    table
        What is known of cells, and of the palette.
    """

    def __init__(self, palette: Frame, hysteresis: float = HYSTERESIS) -> None:
        colours = lab(packed(palette[None])[0])
        gaps = np.linalg.norm(colours[:, None] - colours, axis=-1)
        np.fill_diagonal(gaps, np.inf)
        gap = gaps.min(1) if len(palette) > 1 else np.zeros(1)
        # numpy's own would load its masked arrays first.
        middle = np.sort(gap)[[(len(gap) - 1) // 2, len(gap) // 2]].mean()
        slack = np.minimum(hysteresis * np.sqrt(gap * middle), VISIBLE)
        four = np.zeros((256, 4), np.float32)
        four[: len(palette), :3] = colours
        # Memory is taken from the machine as colours occur.
        self.table = CellTable(
            SPREAD,
            MIDDLE,
            np.array(TO_LMS),
            np.array(TO_LAB),
            np.ascontiguousarray(colours.T),
            four,
            slack.astype(np.float32),
            (ALONE * slack).astype(np.float32),
            places=np.zeros((CELLS, 4), np.float32),
            alone=np.zeros(CELLS, np.float32),
            near=np.zeros(CELLS, np.uint8),
            second=np.full(CELLS, UNKNOWN, np.uint8),
            share=np.zeros(CELLS, np.uint8),
        )
