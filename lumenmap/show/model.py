"""The Show: cues and layers, with every name resolved except those that belong to a house."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any, Literal, NamedTuple, get_args

from lumenmap.colour.palette import Palette
from lumenmap.core.wording import gathered
from lumenmap.motion.beats import Beats
from lumenmap.motion.easing import Easing, linear
from lumenmap.motion.ramp import Ramp
from lumenmap.routes.route import Route
from lumenmap.show.effects.effect import Effect

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


#: What a layer's time counts from: its cue's start, the show's, or its place's turn.
Clock = Literal["cue", "show", "turn"]
#: What a layer does when its passages or turns are over.
Then = Literal["dark", "held"]
#: How many of the places that take turns are lit.
Lit = Literal["one", "one more", "one fewer"]
Order = Literal["in order", "to and fro", "by lot"]


class Passage(NamedTuple):
    """A layer that passes once or a few times: ``over`` (s) each, ``times`` times (0: for ever)."""

    over: float
    times: int = 0
    then: Then = "dark"


class Turns(NamedTuple):
    """Places that take turns.

    Attributes
    ----------
    every
        s from one turn to the next, or a ramp of them; None if no turn ends.
    first
        How many are lit at first; None for the usual: all for "one fewer", else one.
    parts
        So many equal parts of ``way``, each but for its ``gap`` (a share of it); ``edges`` for
        each edge; None if the places are what ``on`` lists.
    fade
        s in which one turn changes to the next.
    rounds
        How often all places have their turns, and ``then`` what follows; 0 for ever.
    """

    every: float | Ramp | None
    lit: Lit = "one"
    order: Order = "in order"
    first: int | None = None
    parts: int | Literal["edges"] | None = None
    way: str | Route = "line"
    fade: float = 0.0
    rounds: int = 0
    then: Then = "held"
    gap: float = 0.0


@dataclass(frozen=True, slots=True)
class Layer:
    """One effect in a cue.

    ``options`` holds the effect's options in SI; ``on`` the names and patterns of edges, masses,
    kinds, groups or routes it lights (the whole house if empty), ``without`` those that it leaves
    alone; ``key`` its place in the file; ``within`` bounds by axis (0 across, 1 away, 2 up: low,
    high, m). Its time is that of its ``clock`` minus ``delay`` (s), times ``pace``. Where a value
    may be a `Ramp`, its times count from the cue's start. ``palette_at``: the whole layer has the
    palette's colour at this place. ``name`` chooses its random pattern, if it has one. A layer that
    counts in the ``beats`` of a piece has a time of its own, in which every beat is as long.
    """

    effect: Effect
    options: dict[str, Any]
    palette: Palette
    on: tuple[str, ...]
    blend: Blend
    opacity: float | Ramp
    key: str
    within: tuple[tuple[int, float, float], ...] = ()
    delay: float = 0.0
    pace: float = 1.0
    envelope: Ramp | None = None
    clock: Clock = "cue"
    palette_at: float | Ramp | None = None
    passage: Passage | None = None
    turns: Turns | None = None
    name: str = ""
    without: tuple[str, ...] = ()
    beats: Beats | None = None


#: Places of a show's own group, and those that don't belong to it.
Group = tuple[tuple[str, ...], tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Cue:
    """A stretch of time in a show: ``start`` and ``length`` in s, with its fades (s).

    ``even``: its fades look even to the eye, instead of being even in light.
    """

    name: str
    start: float
    length: float
    fade_in: float
    fade_out: float
    layers: tuple[Layer, ...]
    easing: Easing = linear
    even: bool = False


@dataclass(frozen=True, slots=True)
class Show:
    """One looping piece: ``frames`` frames at ``fps``; ``house`` the file it was composed on.

    Over the last ``cross`` seconds it crosses into its own beginning. With ``match_screen``,
    palettes are mixed for the house's own dies. ``limit`` holds the limiter's options by name;
    ``flashing`` why it may flash more than three times a second. ``groups`` and ``routes`` are the
    show's own, by name. ``length`` is the loop's length as asked for (s), which may not be a whole
    number of frames; ``beat`` that of a beat (s), if it has a tempo. ``sound`` is the file of the
    piece that it plays to, from its first moment on.
    """

    name: str
    file: Path
    house: Path | None
    fps: float
    frames: int
    seed: int
    cues: tuple[Cue, ...]
    cross: float = 0.0
    match_screen: bool = True
    limit: dict[str, Any] = field(default_factory=dict)
    flashing: str = ""
    groups: dict[str, Group] = field(default_factory=dict)
    routes: dict[str, Route] = field(default_factory=dict)
    length: Fraction | None = None
    beat: Fraction | None = None
    sound: Path | None = None

    @property
    def seconds(self) -> float:
        """Length of the loop, s."""
        return self.frames / self.fps

    def __repr__(self) -> str:
        """Name the show in one line."""
        return f"<Show {self.name!r}: {len(self.cues)} cues, {self.seconds:g} s>"

    @property
    def notes(self) -> tuple[str, ...]:
        """Warnings: cues that the end of the show cuts off, a loop that drifts off its beat."""
        return (*self._off_beat(), *self._cut_off())

    def _off_beat(self) -> Iterator[str]:
        if self.length is None or self.beat is None or self.sound is not None:
            return
        fps = Fraction(repr(self.fps))
        late = self.frames / fps - self.length
        if abs(late) < Fraction(1, 2000):
            return
        beats, fitting = self.length / self.beat, _fitting(self.length, self.fps)
        advice = f"; {fitting} frames/s would fit" if fitting else ""
        yield (
            f"{float(beats):g} beats last {float(self.length):g} s, but {self.frames} frames last "
            f"{self.seconds:g} s, so each loop ends {abs(float(late)) * 1000:.1f} ms "
            f"{'late' if late > 0 else 'early'}{advice}"
        )

    def _cut_off(self) -> list[str]:
        says = f"cut off where the show ends, at {self.seconds:g} s"
        return gathered(
            ("cue", f'"{cue.name}" (to {cue.start + cue.length:g} s)', says)
            for cue in self.cues
            if cue.start + cue.length > self.seconds + 1 / self.fps
        )


def _fitting(length: Fraction, fps: float) -> int:
    """Return the whole frame rate nearest to ``fps`` at which a loop is whole frames; 0 if none."""
    rates = [rate for rate in range(10, 121) if (length * rate).denominator == 1]
    return min(rates, key=lambda rate: (abs(rate - fps), -rate), default=0)
