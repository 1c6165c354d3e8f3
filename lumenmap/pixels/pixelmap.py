"""`PixelMap`: where each pixel is. Arrays in wiring order, line after line."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.parts.kind import PixelKind


@dataclass(frozen=True, slots=True)
class LineSpan:
    """The pixels of one line: ``count`` of the map from ``first``; ``length`` of its wire (m)."""

    name: str
    first: int
    count: int
    universe: int
    order: str
    length: float

    @property
    def slice(self) -> slice:
        """The line's rows of the map."""
        return slice(self.first, self.first + self.count)


@dataclass(frozen=True, slots=True, eq=False)
class PixelMap:
    """N pixels in wiring order.

    Attributes
    ----------
    xyz, facing
        (N, 3) m, and unit vectors. A hidden pixel is where its wire is.
    along_line
        (N,) m of wire from the line's start, jumpers included.
    along_edge, edge_length
        (N,) m from the edge's own start, whatever the direction of the wire; and its length.
    edge
        (N,) index into ``edge_names``; -1 for a hidden pixel.
    line
        (N,) index into ``lines``.
    lit
        (N,) False for hidden and dead pixels.
    notes
        Sentences for the owner about what looks like a mistake but may be intended.
    """

    xyz: NDArray[np.float64]
    facing: NDArray[np.float64]
    along_line: NDArray[np.float64]
    along_edge: NDArray[np.float64]
    edge_length: NDArray[np.float64]
    edge: NDArray[np.int32]
    line: NDArray[np.int32]
    lit: NDArray[np.bool_]
    edge_names: tuple[str, ...]
    lines: tuple[LineSpan, ...]
    kind: PixelKind
    groups: dict[str, NDArray[Any]]
    notes: tuple[str, ...] = ()

    def __len__(self) -> int:
        return len(self.xyz)

    def __repr__(self) -> str:
        """Count pixels and lines, in one line."""
        return f"<PixelMap: {len(self)} {self.kind.name} pixels on {len(self.lines)} lines>"
