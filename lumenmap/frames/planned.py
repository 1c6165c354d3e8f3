"""What the renderer reads: a `Plan`, in which cues light layers, and layers light places."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.frames.turns import PlannedTurns
from lumenmap.motion.at import At
from lumenmap.show.model import Cue, Layer, Show

Rows = NDArray[np.intp] | slice | None


@dataclass(frozen=True, slots=True, eq=False)
class PlannedLayer:
    """A layer with its places; ``rows`` are the pixels of its tile that it lights, None for all.

    ``late``: s from its cue's start to the moment at which its own time is 0.
    """

    layer: Layer
    at: At
    rows: Rows
    options: dict[str, Any]
    late: float = 0.0
    turns: PlannedTurns | None = None

    def since(self, t: NDArray[np.float64], begin: float) -> NDArray[np.float64]:
        """Return its time (s) at moments ``t`` of the show, since its cue began at ``begin``."""
        beats = self.layer.beats
        return t - begin if beats is None else beats.even(t) - beats.even(begin)


@dataclass(frozen=True, slots=True, eq=False)
class PlannedCue:
    """A cue with its planned layers."""

    cue: Cue
    layers: tuple[PlannedLayer, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Tile:
    """``pixels`` of the map, starting at ``first``, and the cues that light them."""

    first: int
    pixels: int
    cues: tuple[PlannedCue, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Plan:
    """What the renderer reads: all names are resolved.

    ``dark`` holds the rows of hidden pixels, which stay at 0. ``balance`` (3,) is the light of the
    channels that is white; None where the channels' own light is meant. ``notes`` are sentences
    for the user.
    """

    show: Show
    pixels: int
    tiles: tuple[Tile, ...]
    dark: NDArray[np.intp]
    balance: NDArray[np.float32] | None = None
    notes: tuple[str, ...] = ()

    def __repr__(self) -> str:
        """Name the show in one line."""
        return f"<Plan of {self.show!r} on {self.pixels} pixels>"
