"""`At`: the places at which an effect is evaluated. No pixel index, on purpose."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, replace
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.motion.distance import Distance
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
    routes
        The ways along the roofline that effects were told to follow, measured: each by what an
        option says, ``"round"``, ``"along NAME"`` or the `Route` itself.
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
    routes: Mapping[Any, Distance] = field(default_factory=dict)
    kept: dict[Any, Any] = field(default_factory=dict, init=False, repr=False)

    def __post_init__(self) -> None:
        """Make all of it read-only: layers share it, and one effect must not move another's."""
        for f in fields(self):
            if isinstance(value := getattr(self, f.name), np.ndarray):
                object.__setattr__(self, f.name, read_only(value))
        corners = {name: read_only(corner) for name, corner in self.corners.items()}
        object.__setattr__(self, "corners", MappingProxyType(corners))
        object.__setattr__(self, "routes", MappingProxyType(dict(self.routes)))

    def __reduce__(self) -> tuple[Any, ...]:
        """Travel without what is kept: it is quicker worked out again than sent."""
        each = {f.name: getattr(self, f.name) for f in fields(self) if f.init}
        plain = {"corners": dict(self.corners), "routes": dict(self.routes)}
        return At, tuple((each | plain).values())

    def part(self, rows: Any) -> At:
        """Return some of the places: ``rows`` is a slice, a mask or indices."""
        each = ("xyz", "along_line", "along_edge", "edge_length", "facing", "line_length")
        routes = {name: route.part(rows) for name, route in self.routes.items()}
        return replace(self, routes=routes, **{name: getattr(self, name)[rows] for name in each})
