"""The House: what the house file says, in metres, amperes and volts, with every name resolved.

Axes: x right along the front as seen from the street, y away from the street, z up; metres.
Lengths that holes are laid out by stay exact fractions of a metre.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.supplies import Bus, Feed, Habits, Supply, Wiring
from lumenmap.parts.kinds import PixelKind

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Place:
    """Where on Earth the house stands: degrees, and the zone that its clock keeps."""

    latitude: float
    longitude: float
    timezone: str


@dataclass(frozen=True, slots=True)
class Mass:
    """One block of the building, before its corners are worked out.

    ``slope`` is rise over run; ``position`` the x, y of the front-left corner of its walls (m);
    ``heading`` the turn of the block about that corner, counter-clockwise seen from above (rad);
    ``base`` the height of its floor, ``eave`` of its roof's lower edge above the base (m).
    ``ridge``: ``away`` from the street or ``across``, for a gable; ``high``: the side that a shed
    roof rises to. ``walls``: false for an open roof on posts.
    """

    name: str
    roof: str
    width: float
    depth: float
    eave: float
    slope: float
    overhang: float
    position: tuple[float, float]
    heading: float
    base: float
    ridge: str = "away"
    high: str = "back"
    walls: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class Edge:
    """A named line where pixels can run.

    Attributes
    ----------
    name, kind
        ``main/rake-left``; eave, rake, ridge, hip, valley, fascia, post or rail line.
    points
        (K, 3) polyline, m.
    facing
        (3,) unit vector: where a pixel on it shines.
    mass
        The mass it belongs to, if any.
    measured
        The length on the owner's tape, if given (exact m).
    rail
        How its rails are drilled, where that differs from the house's.
    flexible
        Whether its holes run on round its bends, as in a strip or a bent channel.
    """

    name: str
    kind: str
    points: Points
    facing: Points
    mass: str | None = None
    measured: Fraction | None = None
    rail: Rail | None = None
    flexible: bool = False

    @property
    def length(self) -> float:
        """Length along the polyline, m."""
        return float(np.linalg.norm(np.diff(self.points, axis=0), axis=1).sum())


@dataclass(frozen=True, slots=True, eq=False)
class Face:
    """A flat part of the house for the picture.

    ``kind``: wall, roof, soffit, fascia, window, door, ground…; ``corners`` (K, 3) in order,
    counter-clockwise seen from outside; ``colour`` linear RGB reflectance.
    """

    name: str
    kind: str
    corners: Points
    colour: tuple[float, float, float]
    mass: str | None = None


@dataclass(frozen=True, slots=True)
class Rail:
    """How pipe or channel is drilled: exact metres.

    Attributes
    ----------
    length, hole_spacing, first_hole
        Stock length; distance between holes; from a rail's end to its first hole.
    remainder
        Where an edge is no whole number of spacings: it is left bare at ``both`` ends, at the
        ``start`` or the ``end``; or the holes are ``spread``; or the last rail is cut to ``trim``.
    clear_start, clear_end
        No rail so near the ends of an edge.
    gap
        Left at joints, for the rails to grow into.
    kerf
        Width of the saw's cut.
    """

    length: Fraction
    hole_spacing: Fraction
    first_hole: Fraction
    remainder: str = "both"
    clear_start: Fraction = Fraction(0)
    clear_end: Fraction = Fraction(0)
    gap: Fraction = Fraction(0)
    kerf: Fraction = Fraction(0)


@dataclass(frozen=True, slots=True)
class Warmth:
    """What the rails grow by: material, and the coldest, warmest and fitting temperature (°C)."""

    material: str
    coldest: float
    warmest: float
    fitted_at: float


@dataclass(frozen=True, slots=True)
class Run:
    """A step of a line's path along an edge, or part of it (exact m from the edge's start)."""

    edge: str
    reversed: bool = False
    start: Fraction | None = None
    stop: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Jumper:
    """Wire without pixels, exact m."""

    length: Fraction


@dataclass(frozen=True, slots=True)
class Spares:
    """Pixels that take a place on the wire but are hidden or dead."""

    count: int


Step = Run | Jumper | Spares


@dataclass(frozen=True, slots=True)
class Line:
    """One data wire from one output of the controller, in the order the data runs.

    Attributes
    ----------
    universe
        Its first; None: after those of the line before it.
    cuts
        Places where its positive conductor is cut, so that two supplies stay apart.
    pixels
        How many the owner's strings have, to be checked with the holes.
    dead
        Numbers on the line, from 1, of pixels that stay dark.
    """

    name: str
    path: tuple[Step, ...]
    universe: int | None
    order: str
    cuts: tuple[str, ...] = ()
    pixels: int | None = None
    dead: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Group:
    """Pixels by name: on any of the patterns ``of``, and inside the box ``low`` to ``high`` (m)."""

    of: tuple[str, ...]
    low: tuple[float, float, float] | None = None
    high: tuple[float, float, float] | None = None


@dataclass(frozen=True, slots=True)
class Drill:
    """The owner's machine: m, and m a minute; ``units`` is what the program speaks, in or mm."""

    units: str
    travel: Fraction
    bit: Fraction
    depth: Fraction
    retract: Fraction
    feed: Fraction
    spindle: int | None


@dataclass(frozen=True, slots=True)
class Buying:
    """What things cost the owner, and the share of spare pixels and fuses to have."""

    currency: str = ""
    spare: float = 0.1
    prices: dict[str, float] = field(default_factory=dict)

    def money(self, value: float) -> str:
        """Write a sum in the owner's currency: ``$4.20``, ``CHF 4.20``."""
        space = " " if self.currency[-1:].isalpha() else ""
        return f"{self.currency}{space}{value:.2f}"


@dataclass(frozen=True, slots=True, eq=False)
class House:
    """The whole model.

    ``notes`` are sentences for the owner: what looks like a slip but may be meant.
    """

    name: str
    file: Path
    unit: str
    place: Place | None
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
    buses: tuple[Bus, ...] = ()
    wiring: Wiring = field(default_factory=Wiring)
    habits: Habits = field(default_factory=Habits)
    warmth: Warmth | None = None
    drill: Drill | None = None
    buying: Buying = field(default_factory=Buying)
    notes: tuple[str, ...] = ()

    def __repr__(self) -> str:
        """Name the house in one line."""
        return f"<House {self.name!r}: {len(self.edges)} edges, {len(self.lines)} lines>"
