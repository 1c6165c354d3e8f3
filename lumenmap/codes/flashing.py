"""Flashes: general and red ones, counted as WCAG 2.2 success criterion 2.3.1 defines them.

Strategy: light is measured twice. As a part of the pixels' full light, which is what the
criterion's figures would mean if the house were a screen; and as a part of the most that this show
gets to, since the eye follows what it sees, and a strobe that is held to 8 % is a strobe. Each
region's mean light is one signal, and so is each pixel's own. A signal's transitions
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
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.flashes import MAX_TRANSITIONS, Flashing, Kind
from lumenmap.codes.luminance import KeptLuminance
from lumenmap.codes.transitions import LUMINANCE, GeneralTransitions, RedTransitions

F = NDArray[np.float64]
B = NDArray[np.bool_]

#: Pixels that each flash by themselves count as one pattern when they are this part of a region:
#: the part of a field of view at which concurrent flashes count (WCAG 2.2, 25 % of 10 degrees [P]).
PATTERN = 0.25
#: Fewer pixels than this don't make a pattern.
MIN_PATTERN = 8

#: A show that gets to this part of full light is measured once: both measures are the same.
ALMOST_FULL = 0.995


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
        self._first: list[F] = []
        self._full = _Windows(fps, self._regions)
        self._changes: dict[Kind, GeneralTransitions | RedTransitions] = {}
        self._kept = KeptLuminance()

    @property
    def frames(self) -> int:
        """Frames so far."""
        return self._full.frames

    def add(self, light: NDArray[Any]) -> None:
        """Count flashes in the next block of linear light (T, N, 3), 0..1 of full output."""
        if len(self._first) < self._full.window:
            missing = self._full.window - len(self._first)
            self._first += list(np.array(light[:missing], float))
        self._kept.add(light @ LUMINANCE)
        self._count_block(light)

    def findings(self, *, loop: bool = True) -> list[Flashing]:
        """Return what was found; call once, after the last block."""
        again = np.zeros((0, 0, 3))
        if loop and self._first:
            laps = itertools.islice(itertools.cycle(self._first), self._full.window)
            again = np.array(list(laps))
            self._count_block(again)
        found = self._full.found()
        found += [f for f in self._by_its_own_light(again @ LUMINANCE) if not _told(f, found)]
        return sorted(found, key=lambda f: (f.start, f.region, f.kind))

    def so_far(self) -> list[Flashing]:
        """Return what was found by full light up to here; more may follow.

        What the show gets to is known only at its end.
        """
        return sorted(self._full.found(), key=lambda f: (f.start, f.region, f.kind))

    def _by_its_own_light(self, again: F) -> list[Flashing]:
        """Count general flashes again, by the most light that the show gets to.

        Where red begins is a matter of colour, not of brightness, so red needs no second count.
        """
        brightest = self._kept.brightest
        if not 0 < brightest < ALMOST_FULL:
            return []
        windows = _Windows(self.fps, self._regions, brightest)
        changes: GeneralTransitions | None = None
        for luminance in itertools.chain(self._kept.blocks(), [again]):
            if not len(luminance):
                continue
            signals = _signals(luminance / brightest, self._regions)
            changes = changes or GeneralTransitions(signals.shape[1])
            windows.count("general", changes.of_luminance(signals))
            windows.frames += len(luminance)
        return windows.found()

    def _count_block(self, light: NDArray[Any]) -> None:
        signals = _signals(np.asarray(light, np.float64), self._regions)
        if not self._changes:
            count = signals.shape[1]
            self._changes = {"general": GeneralTransitions(count), "red": RedTransitions(count)}
        for kind, changes in self._changes.items():
            self._full.count(kind, changes.events(signals))
        self._full.frames += len(light)


def _signals(light: F, regions: Mapping[str, NDArray[np.intp]]) -> F:
    """Return (T, regions + pixels, …): the mean light of each region, then each pixel's."""
    means = [light[:, rows].mean(axis=1) for rows in regions.values()]
    return np.concatenate([np.stack(means, axis=1), light], axis=1) if means else light


class _Windows:
    """Counts transitions in the last second at each frame, and notes where there are too many."""

    def __init__(
        self, fps: float, regions: Mapping[str, NDArray[np.intp]], brightest: float = 1.0
    ) -> None:
        self.fps, self._regions, self._brightest = fps, regions, brightest
        # The frames of the last second, the present one included.
        self.window = math.ceil(fps - 1e-9)
        self.frames = 0
        self._recent: dict[Kind, NDArray[np.uint8]] = {}
        self._open: dict[tuple[str, Kind, bool], Flashing] = {}
        self._found: list[Flashing] = []

    def count(self, kind: Kind, events: B) -> None:
        """Count the events of the next frames (T, S)."""
        before = self._recent.get(kind, np.zeros((self.window, events.shape[1]), np.uint8))
        both = np.concatenate([before, events.astype(np.uint8)])
        self._recent[kind] = both[len(both) - self.window :]
        if not events.any() and not before.any():
            return
        total = np.concatenate([np.zeros((1, both.shape[1]), np.int32), both.cumsum(0, np.int32)])
        last = total[self.window + 1 :] - total[1 : len(total) - self.window]
        regions = len(self._regions)
        for i, (name, rows) in enumerate(self._regions.items()):
            self._note(name, kind, False, last[:, i])
            if len(rows) >= MIN_PATTERN:
                own = last[:, regions + rows]
                part = (own > MAX_TRANSITIONS).mean(axis=1) >= PATTERN
                self._note(name, kind, True, np.where(part, own.max(axis=1), 0))

    def found(self) -> list[Flashing]:
        """Return what was found; where a region flashes as a whole, its pixels are left out."""
        found = [*self._found, *self._open.values()]
        whole = [f for f in found if not f.pattern]
        return [f for f in found if not (f.pattern and any(_covers(w, f) for w in whole))]

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
            self._open[key] = Flashing(name, kind, pattern, begin, at, most, self._brightest)


def _told(own: Flashing, found: list[Flashing]) -> bool:
    """Return whether a flash by the show's own light is one by full light too."""
    return any(_covers(f, own) for f in found)


def _covers(whole: Flashing, pattern: Flashing) -> bool:
    same = (whole.region, whole.kind) == (pattern.region, pattern.kind)
    return same and whole.start <= pattern.stop and pattern.start <= whole.stop
