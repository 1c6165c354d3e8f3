"""`At`: the places at which an effect is evaluated. No pixel index, on purpose."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.motion.kept import read_only

F = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class At:
    """N places on the house.

    Attributes
    ----------
    xyz
        (N, 3) m: x right along the front seen from the street, y away from it, z up.
    along_line
        (N,) m along the wire.
    along_edge, edge_length
        (N,) m along the edge from its own start (not the wire's), and the edge's length.
    facing
        (N, 3) unit vectors.
    line_length
        (N,) m of wire of the whole line.
    low, high
        (3,) m: the corners of the box around all pixels of the house (not only these places).
    corners
        Named corners of the house, (3,) m each.
    kept
        What `lumenmap.motion.kept` keeps with these places.
    """

    xyz: F
    along_line: F
    along_edge: F
    edge_length: F
    facing: F
    line_length: F
    low: F
    high: F
    corners: Mapping[str, F]
    kept: dict[Any, Any] = field(default_factory=dict, init=False, repr=False)

    def __post_init__(self) -> None:
        """Make all of it read-only: layers share it, and one effect must not move another's."""
        for f in fields(self):
            if isinstance(value := getattr(self, f.name), np.ndarray):
                object.__setattr__(self, f.name, read_only(value))
        corners = {name: read_only(corner) for name, corner in self.corners.items()}
        object.__setattr__(self, "corners", MappingProxyType(corners))

    def __reduce__(self) -> tuple[Any, ...]:
        """Travel without what is kept: it is quicker worked out again than sent."""
        each = {f.name: getattr(self, f.name) for f in fields(self) if f.init}
        return At, tuple((each | {"corners": dict(self.corners)}).values())
