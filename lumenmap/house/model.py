"""`House`: the content of a house file in metres, amperes and volts, with every name resolved.

Axes: x right along the front as seen from the street, y away from the street, z up; metres.
Lengths that decide where holes are stay exact fractions of a metre.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.choices import Unit
from lumenmap.house.masses.kinds import EdgeKind, FaceKind
from lumenmap.house.masses.mass import Mass
from lumenmap.house.rails import Bench, Drill, Rail, ThermalRange
from lumenmap.house.supplies import Bus, Feed, StringMake, Supply, Tap, Trunk, Usage, WireDefaults
from lumenmap.parts.kind import PixelKind
from lumenmap.routes.route import Route

Points = NDArray[np.float64]


class Location(NamedTuple):
    """Where on Earth the house is: degrees north and east, and its time zone."""

    latitude: float
    longitude: float
    timezone: str


@dataclass(frozen=True, slots=True, eq=False)
class Edge:
    """A named line where pixels can run.

    Attributes
    ----------
    name, kind
        ``main/rake-left``; its kind.
    points
        (K, 3) polyline, m.
    facing
        The direction in which its pixels shine: a unit vector (3,), or one for each straight part
        of the polyline (K - 1, 3).
    mass
        The mass it belongs to, if any.
    measured
        The length on the owner's tape, if given (exact m).
    rail
        How its rails are drilled, if that differs from the rest of the house.
    flexible
        Whether its holes continue round its bends, as in a strip or bent channel.
    """

    name: str
    kind: EdgeKind
    points: Points
    facing: Points
    mass: str | None = None
    measured: Fraction | None = None
    rail: Rail | None = None
    flexible: bool = False

    @property
    def facings(self) -> Points:
        """The direction in which each straight part shines, (K - 1, 3)."""
        return np.broadcast_to(self.facing, (len(self.points) - 1, 3))

    @property
    def length(self) -> float:
        """Length along the polyline, m."""
        return float(np.linalg.norm(np.diff(self.points, axis=0), axis=1).sum())


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """A flat part of the house, for pictures.

    ``corners`` (K, 3) m, counter-clockwise as seen from outside; ``colour`` linear RGB reflectance.
    """

    name: str
    kind: FaceKind
    corners: Points
    colour: tuple[float, float, float]
    mass: str | None = None


class Run(NamedTuple):
    """An item of a line's path: an edge, or part of it (exact m from the edge's start)."""

    edge: str
    reversed: bool = False
    start: Fraction | None = None
    stop: Fraction | None = None


class Jumper(NamedTuple):
    """Wire without pixels, exact m."""

    length: Fraction


@dataclass(frozen=True, slots=True)
class Spares:
    """Pixels that are on the wire but hidden or dead."""

    count: int


Step = Run | Jumper | Spares


@dataclass(frozen=True, slots=True)
class Line:
    """One data wire from one output of the controller, in the order the data runs.

    Attributes
    ----------
    universe
        Its first universe; None: the next free one.
    order
        Channel order on the wire, such as ``GRB``.
    cuts
        Positions where its positive conductor is cut, so that two supplies stay separate.
    pixels
        How many pixels the owner's strings have, to check against the holes.
    dead
        Numbers on the line, from 1, of pixels that stay dark.
    lead
        Data wire from the controller to its first pixel (m); None if the file doesn't say.
    """

    name: str
    path: tuple[Step, ...]
    universe: int | None
    order: str
    cuts: tuple[str, ...] = ()
    pixels: int | None = None
    dead: tuple[int, ...] = ()
    lead: float | None = None


class Group(NamedTuple):
    """Named pixels: any that a pattern in ``of`` matches, in the box ``low`` to ``high`` (m)."""

    of: tuple[str, ...]
    low: tuple[float, float, float] | None = None
    high: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class Buying:
    """What things cost the owner, and the share of pixels and fuses to buy as spares."""

    currency: str = ""
    spare: float = 0.1
    prices: dict[str, float] = field(default_factory=dict)

    def money(self, value: float) -> str:
        """Format a sum in the owner's currency: ``$4.20``, ``CHF 4.20``."""
        space = " " if self.currency[-1:].isalpha() else ""
        return f"{self.currency}{space}{value:.2f}"


@dataclass(frozen=True, slots=True, eq=False)
class House:
    """The whole model.

    ``notes`` are sentences for the owner about what looks like a mistake but may be intended;
    ``sha256`` is the digest of the file, empty if it was made without one;
    ``assumptions`` are about what the file leaves out, and which key says it.
    """

    name: str
    file: Path
    unit: Unit
    location: Location | None
    masses: tuple[Mass, ...]
    corners: dict[str, Points]
    edges: dict[str, Edge]
    faces: tuple[Face, ...]
    rail: Rail
    kind: PixelKind
    lines: tuple[Line, ...]
    supplies: tuple[Supply, ...]
    feeds: tuple[Feed, ...]
    groups: dict[str, Group] = field(default_factory=dict)
    routes: dict[str, Route] = field(default_factory=dict)
    buses: tuple[Bus, ...] = ()
    trunks: tuple[Trunk, ...] = ()
    taps: tuple[Tap, ...] = ()
    string: StringMake = field(default_factory=StringMake)
    wire_defaults: WireDefaults = field(default_factory=WireDefaults)
    usage: Usage = field(default_factory=Usage)
    thermal: ThermalRange | None = None
    bench: Bench = field(default_factory=Bench)
    drill: Drill | None = None
    buying: Buying = field(default_factory=Buying)
    notes: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    sha256: str = ""

    def __repr__(self) -> str:
        """Name the house in one line."""
        return f"<House {self.name!r}: {len(self.edges)} edges, {len(self.lines)} lines>"
