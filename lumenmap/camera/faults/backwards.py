"""Edges of which few pixels are seen, but those where they sit if it is wired the other way round.

`follow` looks for every way through the holes, and so asks for many pixels before it believes one:
any hole might be hit by chance. An edge that is reversed has each pixel in one hole only, far from
its own; two that are seen there are no chance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.evidence.costs import costs
from lumenmap.camera.evidence.evidence import Evidence
from lumenmap.camera.faults.holes import SHIFT, Piece
from lumenmap.pixels.pixelmap import LineSpan, PixelMap

F = NDArray[np.float64]

#: So many pixels at least are seen where only the reversed edge has them, at less than this cost;
#: and what they cost where they are believed to sit is so much in all.
FEWEST, NEAR, LEAST = 2, 0.5, 1.5


def turned(
    pieces: list[Piece], films: Sequence[Evidence], span: LineSpan, pixels: PixelMap
) -> list[Piece]:
    """Return a line's pieces, with the edges turned round of which what is seen says so."""
    cost = costs(films, span)
    edges = pixels.edge[span.slice]
    ends = np.flatnonzero(np.diff(edges)) + 1
    for first, end in zip([0, *ends.tolist()], [*ends.tolist(), span.count], strict=True):
        if edges[first] < 0 or end - first == span.count:
            continue
        number = span.first + np.arange(first, end)
        if shown := _shown(number, cost[:, first:end]):
            pieces = [part for piece in pieces for part in _with(piece, number, shown)]
    return pieces


def _shown(number: NDArray[np.intp], cost: F) -> list[int]:
    """Return the pixels that show that an edge's (K,) are turned round; ``cost`` (V, K, N)."""
    row = np.arange(len(number))
    here, there = cost[:, row, number], cost[:, row, number[::-1]]
    far = np.abs(number - number[::-1]) > SHIFT
    clear = (there < NEAR) & (cost.max(2) > 0)
    told = far & (here > there) & clear
    gain = float((here - there)[:, far].sum())
    enough = told.any(0).sum() >= FEWEST and gain > LEAST
    return number[clear.any(0)].tolist() if enough else []


def _with(piece: Piece, number: NDArray[np.intp], shown: list[int]) -> list[Piece]:
    """Return a piece with an edge's pixels turned round, if all of them sit in their own holes."""
    first, last = int(number[0]), int(number[-1])
    if piece.step < 0 or piece.shift or first < piece.first or last > piece.last:
        return [piece]
    before, after = (
        replace(piece, first=a, last=b, hole=a, shown=tuple(n for n in piece.shown if a <= n <= b))
        for a, b in ((piece.first, first - 1), (last + 1, piece.last))
    )
    parts = [before, Piece(first, last, last, -1, tuple(shown)), after]
    return [part for part in parts if part.first <= part.last]
