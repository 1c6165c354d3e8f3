"""`follow`: the hole in which each numbered pixel sits, as films show it.

Strategy: along a line the pixels sit in holes one after another, forwards or backwards, with few
jumps. The cheapest such way through all holes of the house is found by dynamic programming
(Viterbi, "Error bounds for convolutional codes", 1967 [P]), where it costs to be seen away from a
hole, and to jump. What several films say adds up, as logarithms of likelihoods do. A pixel that
isn't seen costs nothing wherever it is.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.evidence.costs import costs
from lumenmap.camera.evidence.evidence import Evidence
from lumenmap.pixels.pixelmap import LineSpan, PixelMap

F = NDArray[np.float64]
Ints = NDArray[np.intp]

#: What a jump costs: as much as so many pixels seen in a wrong place.
JUMP = 3.0
#: Shifts of so many holes are left to `steps`.
SHIFT = 6
#: A pixel that a film shows at less than this cost is evidence.
CLEAR = 0.5


@dataclass(frozen=True, slots=True)
class Piece:
    """Pixels ``first`` to ``last`` of the house sit in holes from ``hole`` on, up or down.

    ``step`` is 1 or -1; ``shown`` are the pixels that show it.
    """

    first: int
    last: int
    hole: int
    step: int
    shown: tuple[int, ...]

    @property
    def shift(self) -> int:
        """The constant of ``hole = step × pixel + shift``."""
        return self.hole - self.step * self.first

    @property
    def holes(self) -> tuple[int, int]:
        """The lowest and highest hole."""
        end = self.hole + self.step * (self.last - self.first)
        return min(self.hole, end), max(self.hole, end)

    def moved(self, first: int, size: int) -> list[Piece]:
        """Return the piece with the pixels from ``first`` on moved by holes along the wire."""
        if first > self.last:
            return [self]
        begin = max(first, self.first)
        hole = self.hole + self.step * (begin - self.first + size)
        shown = tuple(n for n in self.shown if n >= begin)
        later = Piece(begin, self.last, hole, self.step, shown)
        if begin == self.first:
            return [later]
        rest = tuple(n for n in self.shown if n < begin)
        return [replace(self, last=begin - 1, shown=rest), later]


def follow(costs: F, first: int) -> list[Piece]:
    """Return the cheapest way of a line's pixels through the holes, in pieces.

    Parameters
    ----------
    costs
        (V, K, N) what it costs in each film that a pixel sits in a hole.
    first
        The line's first pixel.
    """
    cost = costs.sum(0)
    count, holes = cost.shape
    own = np.full((2, holes), JUMP)
    own[0, first] = 0.0
    own += cost[0]
    came = np.zeros(
        (count, 2, holes), np.int32
    )  # -1: from the hole before; else where a jump began
    for n in range(1, count):
        stay = np.full((2, holes), np.inf)
        stay[0, 1:] = own[0, :-1]
        stay[1, :-1] = own[1, 1:]
        best = int(own.argmin())
        jump = float(own.ravel()[best]) + JUMP
        came[n] = np.where(stay <= jump, -1, best)
        own = np.minimum(stay, jump) + cost[n]
    return _pieces(costs, came, int(own.argmin()), first)


def _pieces(costs: F, came: NDArray[np.int32], state: int, first: int) -> list[Piece]:
    _, count, holes = costs.shape
    seen = costs.max(2) > 0
    found: list[Piece] = []
    last = count - 1
    for n in range(count - 1, -1, -1):
        way, hole = divmod(state, holes)
        step = -1 if way else 1
        origin = int(came[n, way, hole]) if n else 0
        if n and origin < 0:
            state = way * holes + hole - step
            continue
        at = np.arange(n, last + 1)
        clear = (costs[:, at, hole + step * (at - n)] < CLEAR) & seen[:, at]
        shown = first + at[clear.any(0)]
        found.append(Piece(first + n, first + last, hole, step, tuple(shown.tolist())))
        last, state = n - 1, origin
    return found[::-1]


def snapped(pieces: list[Piece], pixels: PixelMap) -> list[Piece]:
    """Return pieces without shifts of a few holes from where whole lines or edges would sit.

    Such a shift may be the camera's, which bends itself; `steps` judges it.
    """
    out: list[Piece] = []
    for piece in pieces:
        if not piece.shown and out:  # nothing says where these pixels are
            piece = replace(out[-1], first=piece.first, last=piece.last, shown=())
            piece = replace(piece, hole=piece.step * piece.first + out[-1].shift)
        elif piece.shown:
            exact = _exact(piece, pixels)
            near = exact[int(np.argmin(np.abs(np.array(exact) - piece.shift)))]
            if abs(near - piece.shift) <= SHIFT:
                piece = replace(piece, hole=near + piece.step * piece.first)
        if out and (out[-1].step, out[-1].shift) == (piece.step, piece.shift):
            last = out.pop()
            piece = replace(last, last=piece.last, shown=last.shown + piece.shown)
        out.append(piece)
    return out


def _exact(piece: Piece, pixels: PixelMap) -> list[int]:
    """Return the shifts of a whole line, or of an edge turned round, where a piece sits."""
    holes = piece.step * np.array(piece.shown) + piece.shift
    middle = int(np.median(holes))
    line, edge = int(pixels.line[middle]), int(pixels.edge[middle])
    span = pixels.lines[line]
    if piece.step > 0:
        return [span.first - pixels.lines[int(pixels.line[piece.first])].first]
    own = np.flatnonzero((pixels.line == line) & (pixels.edge == edge))
    return [int(own[0] + own[-1]), 2 * span.first + span.count - 1]


def line_pieces(films: Sequence[Evidence], span: LineSpan) -> list[Piece]:
    """Return the pieces of a line."""
    return follow(costs(films, span), span.first)
