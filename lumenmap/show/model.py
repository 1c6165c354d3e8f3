"""The Show: cues and layers, with every name resolved except those that belong to a house."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal, get_args

from lumenmap.colour.palette import Palette
from lumenmap.motion.easing import Easing, linear
from lumenmap.routes.route import Route
from lumenmap.show.registry import Effect

#: W3C Compositing and Blending Level 1, sections 9.1 and 10.1: separable modes that make sense of
#: light, and the compositing operator plus-lighter.
Blend = Literal[
    "normal",
    "multiply",
    "screen",
    "overlay",
    "darken",
    "lighten",
    "color-dodge",
    "color-burn",
    "hard-light",
    "soft-light",
    "difference",
    "exclusion",
    "plus-lighter",
]
BLENDS: tuple[Blend, ...] = get_args(Blend)


@dataclass(frozen=True, slots=True)
class Envelope:
    """Brightness over the time since a cue's start: ``level`` at each of ``at`` (s), eased."""

    at: tuple[float, ...]
    level: tuple[float, ...]
    easing: Easing = linear
    repeat: bool = False


@dataclass(frozen=True, slots=True)
class Layer:
    """One effect in a cue.

    ``options`` holds the effect's options in SI; ``on`` the names and patterns of edges, masses,
    kinds, groups or routes it lights (the whole house if empty), ``without`` those that it leaves
    alone; ``key`` its place in the file;
    ``within`` bounds by axis (0 across, 1 away, 2 up: low, high, m). Its time is that of the show
    minus ``delay`` (s), times ``pace``.
    """

    effect: Effect
    options: dict[str, Any]
    palette: Palette
    on: tuple[str, ...]
    blend: Blend
    opacity: float
    key: str
    within: tuple[tuple[int, float, float], ...] = ()
    delay: float = 0.0
    pace: float = 1.0
    envelope: Envelope | None = None
    without: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Cue:
    """A stretch of time in a show: ``start`` and ``length`` in s, with its fades (s)."""

    name: str
    start: float
    length: float
    fade_in: float
    fade_out: float
    layers: tuple[Layer, ...]
    easing: Easing = linear


@dataclass(frozen=True, slots=True)
class Show:
    """One looping piece: ``frames`` frames at ``fps``; ``house`` the file it was composed on.

    Over the last ``cross`` seconds it crosses into its own beginning. With ``match_screen``,
    palettes are mixed for the house's own dies. ``limit`` holds the limiter's options by name;
    ``groups`` and ``routes`` are the show's own, by name.
    """

    name: str
    file: Path
    house: Path | None
    fps: float
    frames: int
    seed: int
    cues: tuple[Cue, ...]
    cross: float = 0.0
    match_screen: bool = False
    limit: dict[str, Any] = field(default_factory=dict)
    groups: dict[str, tuple[str, ...]] = field(default_factory=dict)
    routes: dict[str, Route] = field(default_factory=dict)

    @property
    def seconds(self) -> float:
        """Length of the loop, s."""
        return self.frames / self.fps

    def __repr__(self) -> str:
        """Name the show in one line."""
        return f"<Show {self.name!r}: {len(self.cues)} cues, {self.seconds:g} s>"

    @property
    def notes(self) -> tuple[str, ...]:
        """Warnings: cues that the end of the show cuts off."""
        return tuple(
            f'cue "{cue.name}" would run to {cue.start + cue.length:g} s, but the show ends at '
            f"{self.seconds:g} s and cuts it off"
            for cue in self.cues
            if cue.start + cue.length > self.seconds + 1 / self.fps
        )
