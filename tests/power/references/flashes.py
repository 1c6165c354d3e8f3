"""Flashes counted from bytes independently, as a reference for `lumenmap.codes.flashing`.

Strategy: nothing here comes from the code that counts for users. Each signal (the mean
light of a region, and each pixel's) remembers the frames of its last seven transitions; more than
three flashes a second are seven transitions of which the first is less than a second old. The
first second is seen again after the last, since shows loop.

Definitions: W3C WCAG 2.2, success criterion 2.3.1, "general flash and red flash thresholds" and
"relative luminance" [P], without its exemption for small areas.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.pixels.pixelmap import PixelMap

F = NDArray[np.float64]
B = NDArray[np.bool_]

#: More than three flashes, as pairs of opposing transitions [P: test media by the author of the
#: 2024 guideline review].
_TURNS = 7
#: General: 10 % of full luminance, the darker image below 80 % [P]. A whole number of codes can't
#: come nearer to these than float rounding does.
_STEP, _DARKER = 0.10 - 1e-9, 0.80
#: Red: 80 % of the light in red, and a move of more than 0.2 in u'v' [P]. Below 2 % of full light
#: is black, which has no colour: black to red and back counts, the cautious reading.
_RED, _MOVE, _BLACK = 0.8 - 1e-9, 0.2, 0.02
#: Pixels that flash each by themselves are a pattern from this share of a region on, and this many.
_SHARE, _LEAST = 0.25, 8
#: Linear sRGB to CIE XYZ and to relative luminance, as the definitions write them [P].
_X, _Y, _Z = np.array(
    [
        [0.4124564, 0.3575761, 0.1804375],
        [0.2126729, 0.7151522, 0.0721750],
        [0.0193339, 0.1191920, 0.9503041],
    ]
)
_LUMINANCE = np.array([0.2126, 0.7152, 0.0722])


@dataclass(frozen=True, slots=True)
class FlashFinding:
    """More than three flashes a second: in what region, of what kind, from when to when (s).

    ``pattern``: not the region's light as a whole, but many of its pixels each by itself.
    """

    region: str
    kind: str
    pattern: bool
    start: float
    stop: float

    def __str__(self) -> str:
        how = ", many pixels each by itself," if self.pattern else ""
        return (
            f'"{self.region}"{how} makes more than three {self.kind} flashes a second from '
            f"{self.start:.2f} to {self.stop:.2f} s"
        )

    def report(self) -> dict[str, Any]:
        """Return the same as plain data: s."""
        return asdict(self) | {"message": str(self)}


class FlashRecount:
    """Counts as bytes stream by: `add` them, then ask for `findings` once."""

    def __init__(self, fps: float, pixelmap: PixelMap) -> None:
        self.fps, self.map = fps, pixelmap
        self.names = ["the whole house", *pixelmap.edge_names]
        edges = [pixelmap.edge == i for i in range(len(pixelmap.edge_names))]
        rows = np.array([np.ones(len(pixelmap), bool), *edges]) & pixelmap.lit
        self.names = [name for name, row in zip(self.names, rows, strict=True) if row.any()]
        self.member = rows[rows.any(axis=1)].astype(float)
        self.sizes = self.member.sum(axis=1)
        self.window = math.ceil(fps - 1e-9)
        signals = len(self.names) + len(pixelmap)
        self.turns: list[_General | _Red] = [_General(signals), _Red(signals)]
        self.last = [np.full((_TURNS, signals), -(10**9)) for _ in self.turns]
        self.place = [np.zeros(signals, np.intp) for _ in self.turns]
        self.first: list[NDArray[np.uint8]] = []
        self.flagged: dict[tuple[str, str, bool], list[tuple[float, float]]] = {}
        self.frames = 0

    def add(self, values: NDArray[np.uint8]) -> None:
        """Take in frames (T, N·C) as the wire carries them."""
        if (lack := self.window - len(self.first)) > 0:
            self.first += list(values[:lack].copy())
        self._see(values)

    def findings(self) -> list[FlashFinding]:
        """Return what was found, the join of the loop included, in order of time."""
        count = len(self.first)
        if count:
            self._see(np.array([self.first[k % count] for k in range(self.window)]))
        found = []
        for (name, kind, pattern), spans in self.flagged.items():
            whole = self.flagged.get((name, kind, False), [])
            for start, stop in spans:
                if not (pattern and any(a <= stop and start <= b for a, b in whole)):
                    found.append(FlashFinding(name, kind, pattern, start, stop))
        return sorted(found, key=lambda f: (f.start, f.region, f.kind))

    def _see(self, values: NDArray[np.uint8]) -> None:
        pixels = self._light(values)
        means = np.einsum("rn,tnc->trc", self.member, pixels, optimize=True)
        light = np.concatenate([means / self.sizes[:, None], pixels], axis=1)
        for turns, last, place in zip(self.turns, self.last, self.place, strict=True):
            oldest = last[place, np.arange(last.shape[1])]
            newest = oldest.max()
            for i, turned in enumerate(turns.of(light)):
                if len(which := np.flatnonzero(turned)):
                    # Each signal's frames stand in a ring: the oldest gives way to the newest.
                    last[place[which], which] = self.frames + i
                    place[which] = (place[which] + 1) % _TURNS
                    oldest[which] = last[place[which], which]
                    newest = oldest.max()
                if newest > (before := self.frames + i - self.window):
                    self._flag(turns.kind, oldest > before, self.frames + i)
        self.frames += len(light)

    def _flag(self, kind: str, over: B, frame: int) -> None:
        """Note which regions flash too often at a frame, as a whole or pixel by pixel."""
        many = self.member @ over[len(self.names) :]
        patterns = (self.sizes >= _LEAST) & (many >= _SHARE * self.sizes)
        stop = frame / self.fps
        start = max(0.0, stop - 1)
        for pattern, which in ((False, over[: len(self.names)]), (True, patterns)):
            for k in np.flatnonzero(which):
                spans = self.flagged.setdefault((self.names[k], kind, pattern), [])
                if spans and start <= spans[-1][1]:
                    spans[-1] = (spans[-1][0], stop)
                else:
                    spans.append((start, stop))

    def _light(self, values: NDArray[np.uint8]) -> F:
        """Return (T, N, 3) linear light of bytes; a white die adds to all three."""
        shape = (len(values), len(self.map), self.map.kind.channels)
        wire, light = values.reshape(shape), np.zeros((*shape[:2], 3))
        for span in self.map.lines:
            for place, letter in enumerate(span.order):
                colour = slice(0, 3) if letter == "W" else slice("RGB".index(letter), None)
                part = light[:, span.slice, colour]
                part = part if letter == "W" else part[..., :1]
                part += wire[:, span.slice, place, None] / 255
        return np.minimum(light, 1)


class _General:
    """Transitions of luminance: the swing since the last extreme, one way and then the other."""

    kind = "general"

    def __init__(self, signals: int) -> None:
        self.valley, self.peak = np.full(signals, np.inf), np.full(signals, -np.inf)
        self.may_rise, self.may_fall = np.ones(signals, bool), np.ones(signals, bool)

    def of(self, light: F) -> Iterator[B]:
        """Yield which signals turn in each frame of (T, S, 3)."""
        for now in light @ _LUMINANCE:
            np.minimum(self.valley, now, out=self.valley)
            np.maximum(self.peak, now, out=self.peak)
            rise = (now - self.valley >= _STEP) & (self.valley < _DARKER) & self.may_rise
            fall = (self.peak - now >= _STEP) & (now < _DARKER) & self.may_fall
            turned = rise | fall
            if turned.any():
                self.valley[turned] = self.peak[turned] = now[turned]
                self.may_rise[turned], self.may_fall[turned] = fall[turned], rise[turned]
            yield turned


class _Red:
    """Moves between saturated red and what is not, from the furthest point on the side left."""

    kind = "red"

    def __init__(self, signals: int) -> None:
        self.red = np.zeros(signals, bool)
        #: (S, 3) u', v' and the distance from the red primary of the furthest point on this side.
        self.point: F | None = None
        self.signals = signals

    def of(self, light: F) -> Iterator[B]:
        """Yield which signals turn in each frame of (T, S, 3)."""
        points, red = _chromaticities(light)
        if self.point is None:
            self.point, self.red = points[0].copy(), red[0].copy()
        if not red.any() and not self.red.any():
            far = points[points[..., 2].argmax(axis=0), np.arange(self.signals)]
            keep = far[:, 2] > self.point[:, 2]
            self.point[keep] = far[keep]
            yield from np.zeros(red.shape, bool)
            return
        for now, is_red in zip(points, red, strict=True):
            turned = is_red != self.red
            if turned.any():
                turned &= np.hypot(*(now - self.point)[:, :2].T) > _MOVE
            further = np.where(self.red, now[:, 2] < self.point[:, 2], now[:, 2] > self.point[:, 2])
            keep = turned | (further & (is_red == self.red))
            self.point[keep] = now[keep]
            self.red[turned] = is_red[turned]
            yield turned


def _chromaticities(light: F) -> tuple[F, B]:
    """Return (…, 3) u', v' and their distance from the red primary; and what is saturated red."""
    whole = light @ (_X + 15 * _Y + 3 * _Z)
    dark = light.max(axis=-1) < _BLACK
    whole[dark] = 1
    places = np.empty(light.shape)
    places[..., 0], places[..., 1] = 4 * (light @ _X) / whole, 9 * (light @ _Y) / whole
    places[dark, :2] = 9.0  # black: far from every colour
    base = _X[0] + 15 * _Y[0] + 3 * _Z[0]
    places[..., 2] = np.hypot(places[..., 0] - 4 * _X[0] / base, places[..., 1] - 9 * _Y[0] / base)
    return places, ~dark & (light[..., 0] >= _RED * light.sum(axis=-1))
