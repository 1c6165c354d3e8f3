"""Flashes: general and red ones, counted as WCAG 2.2 success criterion 2.3.1 defines them.

Strategy: each region's mean light is one signal, and so is each pixel's own. A signal's transitions
are found as it streams, and seven or more within one second are more than three flashes. The
first second is counted again after the last, since shows loop. The criterion's exemption for small
areas isn't used: a roofline covers little of the view, but bright points on a dark house are not
what the exemption was made for.

Sources: W3C WCAG 2.2, "general flash and red flash thresholds" and "relative luminance" [P]; seven
transitions for more than three flashes: a published set of test media by the author of the 2024
guideline review [P].
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.transitions import GeneralTransitions, RedTransitions

F = NDArray[np.float64]
B = NDArray[np.bool_]
#: The flashes of WCAG 2.2.
Kind = Literal["general", "red"]

#: More than three flashes per second are seven or more transitions.
MAX_TRANSITIONS = 6
#: Pixels that each flash by themselves count as one pattern when they are this part of a region:
#: the part of a field of view at which concurrent flashes count (WCAG 2.2, 25 % of 10 degrees [P]).
PATTERN = 0.25
#: Fewer pixels than this don't make a pattern.
MIN_PATTERN = 8

ADVICE = (
    "Flashing can trigger seizures. This count follows WCAG 2.2 for general and red flashes, "
    "region by region; it can't tell what is right for any one person. Keep to three flashes a "
    "second or fewer, avoid hard red ones, and give people a way to stop the show."
)


@dataclass(frozen=True, slots=True)
class Flashing:
    """More than three flashes per second somewhere.

    Attributes
    ----------
    region
        Its name.
    kind
        ``general`` or ``red``.
    pattern
        True if many pixels of the region flash, each by itself; False if the region as a whole.
    start, stop
        s of the show; ``stop`` may be after its end, across the seam of the loop.
    transitions
        The largest number within one second.
    """

    region: str
    kind: Kind
    pattern: bool
    start: float
    stop: float
    transitions: int

    def __str__(self) -> str:
        what = "many pixels, each by itself, make" if self.pattern else "the light makes"
        return (
            f'"{self.region}": {what} {self.kind} flashes from {self.start:.2f} to '
            f"{self.stop:.2f} s: {self.transitions} transitions in one second, and more than "
            f"{MAX_TRANSITIONS} are more than three flashes"
        )

    def report(self) -> dict[str, Any]:
        """Return the figures for ``report.json``."""
        return {
            "region": self.region,
            "kind": self.kind,
            "pattern": self.pattern,
            "start": self.start,
            "stop": self.stop,
            "transitions": self.transitions,
            "message": str(self),
        }


class FlashCounter:
    """Counts flashes in light as it streams; see `add` and `findings`.

    Parameters
    ----------
    fps
        Frames/s.
    regions
        Pixels (indices) of each region.
    """

    def __init__(self, fps: float, regions: Mapping[str, NDArray[np.intp]]) -> None:
        self.fps = fps
        self._regions = {name: rows for name, rows in regions.items() if len(rows)}
        # The frames of the last second, the present one included.
        self._window = math.ceil(fps - 1e-9)
        self._transitions: dict[Kind, GeneralTransitions | RedTransitions] = {}
        self._recent: dict[Kind, NDArray[np.uint8]] = {}
        self._first: list[F] = []
        self._open: dict[tuple[str, Kind, bool], Flashing] = {}
        self._found: list[Flashing] = []
        self.frames = 0

    def add(self, light: NDArray[Any]) -> None:
        """Count flashes in the next block of linear light (T, N, 3), 0..1 of full output."""
        if len(self._first) < self._window:
            self._first += list(np.array(light[: self._window - len(self._first)], float))
        self._count_block(light)

    def findings(self, *, loop: bool = True) -> list[Flashing]:
        """Return what was found; call once, after the last block."""
        if loop and self._first:
            again = itertools.islice(itertools.cycle(self._first), self._window)
            self._count_block(np.array(list(again)))
        return self.so_far()

    def so_far(self) -> list[Flashing]:
        """Return what was found in the light up to here; more may follow."""
        found = [*self._found, *self._open.values()]
        whole = [f for f in found if not f.pattern]
        # Where a region flashes as a whole, its pixels needn't be reported.
        kept = [f for f in found if not (f.pattern and any(_covers(w, f) for w in whole))]
        return sorted(kept, key=lambda f: (f.start, f.region, f.kind))

    def _count_block(self, light: NDArray[Any]) -> None:
        signals = self._signals(np.asarray(light, np.float64))
        if not self._transitions:
            count = signals.shape[1]
            self._transitions = {"general": GeneralTransitions(count), "red": RedTransitions(count)}
        for kind, transitions in self._transitions.items():
            self._count(kind, transitions.events(signals))
        self.frames += len(light)

    def _signals(self, light: F) -> F:
        """Return (T, regions + pixels, 3): the mean light of each region, then each pixel's."""
        means = [light[:, rows].mean(axis=1) for rows in self._regions.values()]
        return np.concatenate([np.stack(means, axis=1), light], axis=1) if means else light

    def _count(self, kind: Kind, events: B) -> None:
        """Count events in the last second at each frame, and note where there are too many."""
        before = self._recent.get(kind, np.zeros((self._window, events.shape[1]), np.uint8))
        both = np.concatenate([before, events.astype(np.uint8)])
        self._recent[kind] = both[len(both) - self._window :]
        if not events.any() and not before.any():
            return
        total = np.concatenate([np.zeros((1, both.shape[1]), np.int32), both.cumsum(0, np.int32)])
        last = total[self._window + 1 :] - total[1 : len(total) - self._window]
        regions = len(self._regions)
        for i, (name, rows) in enumerate(self._regions.items()):
            self._note(name, kind, False, last[:, i])
            if len(rows) >= MIN_PATTERN:
                own = last[:, regions + rows]
                part = (own > MAX_TRANSITIONS).mean(axis=1) >= PATTERN
                self._note(name, kind, True, np.where(part, own.max(axis=1), 0))

    def _note(self, name: str, kind: Kind, pattern: bool, count: NDArray[Any]) -> None:
        key = (name, kind, pattern)
        for i in np.flatnonzero(count > MAX_TRANSITIONS):
            at = (self.frames + int(i)) / self.fps
            start = max(0.0, at - 1)
            last = self._open.get(key)
            if last is not None and start > last.stop:
                self._found.append(last)
                last = None
            most = max(int(count[i]), last.transitions if last else 0)
            begin = last.start if last else start
            self._open[key] = Flashing(name, kind, pattern, begin, at, most)


def _covers(whole: Flashing, pattern: Flashing) -> bool:
    same = (whole.region, whole.kind) == (pattern.region, pattern.kind)
    return same and whole.start <= pattern.stop and pattern.start <= whole.stop
