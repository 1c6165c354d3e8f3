"""`Wired`: how a house is wired, as films show it: which pixel sits in which hole."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.faults.holes import Piece
from lumenmap.camera.faults.steps import Step
from lumenmap.pixels.pixelmap import PixelMap

Ints = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Wired:
    """The way of each line's pixels through the holes.

    Attributes
    ----------
    pieces
        By the name of each line.
    steps
        Where pixels are too many or too few; the pieces have them already.
    holes
        (N,) the hole of each pixel, -1 for one beyond the last hole.
    """

    pieces: dict[str, list[Piece]]
    steps: tuple[Step, ...]
    holes: Ints

    @classmethod
    def of(cls, pieces: dict[str, list[Piece]], steps: tuple[Step, ...], pixels: PixelMap) -> Wired:
        """Return the wiring of pieces without steps, and steps."""
        stepped = _stepped(pieces, steps, pixels)
        return cls(stepped, steps, in_holes(stepped, len(pixels)))


def _stepped(
    pieces: dict[str, list[Piece]], made: tuple[Step, ...], pixels: PixelMap
) -> dict[str, list[Piece]]:
    """Return the pieces with their shifts of a few holes, where there are steps."""
    out = {}
    for name, own in pieces.items():
        here = [s for s in made if pixels.lines[int(pixels.line[s.first])].name == name]
        parts = own
        for step in sorted(here, key=lambda s: s.first):
            parts = [part for piece in parts for part in piece.moved(step.first, step.size)]
        out[name] = parts
    return out


def in_holes(pieces: dict[str, list[Piece]], count: int) -> Ints:
    """Return (N,) the hole of each pixel, -1 for one beyond the last hole."""
    out = np.full(count, -1, np.intp)
    for own in pieces.values():
        for piece in own:
            n = np.arange(piece.first, piece.last + 1)
            hole = piece.hole + piece.step * (n - piece.first)
            out[n] = np.where((hole >= 0) & (hole < count), hole, -1)
    return out
