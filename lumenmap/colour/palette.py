"""Palettes: CSS colour stops interpolated once, in OKLab, into a table of linear light.

Strategy: an effect asks for millions of colours a second, so a palette is a table of `K` entries,
each padded to four float32: one 16-byte item that one gather fetches. `Palette.__call__` gives the
(..., 3) view of the padded array; a renderer may work on its ``base`` in place.
"""

from __future__ import annotations

import contextlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lumenmap.colour import css, oklab
from lumenmap.core.errors import InputError, unknown

Light = NDArray[np.float32]
F = NDArray[np.float64]

#: Entries of a table: a power of two, so that wrapping round is one bit mask.
K = 1024
#: Adding 1.5 × 2**52 leaves a double's integer part, rounded to nearest, in its lowest bits.
_ROUND = 6755399441055744.0
SPACES = ("oklab", "oklch")
HUES = ("shorter", "longer", "increasing", "decreasing")
MOST_STOPS = 256
#: Below this OKLab chroma a colour has no hue of its own (CSS Color 4: "powerless").
_POWERLESS = 0.02


@dataclass(frozen=True, slots=True)
class Stop:
    """One colour of a palette: its place 0..1, what was written, and its linear sRGB."""

    at: float
    text: str
    rgb: tuple[float, float, float]


class Palette:
    """Colours to run through.

    Parameters
    ----------
    name
        What people call it.
    stops
        CSS colours, or (colour, position) pairs, or as in a file ``{"colour": …, "at": …}``;
        positions rise from 0 to 1, and those left out are spread evenly. A cyclic palette returns
        to its first stop at 1.
    space, hue
        Where to interpolate: ``oklab``, or ``oklch`` along the ``shorter``, ``longer``,
        ``increasing`` or ``decreasing`` hue path of CSS Color 4.
    cyclic
        Wraps round; otherwise places outside 0..1 get the end colours.
    steps
        Holds each stop until the next instead of blending.

    Raises
    ------
    InputError
        A stop is no colour, positions fall, or an unknown space or hue path.
    """

    __slots__ = ("_items", "cyclic", "hue", "name", "space", "steps", "stops", "table")

    def __init__(
        self,
        name: str,
        stops: Sequence[object],
        space: str = "oklab",
        hue: str = "shorter",
        cyclic: bool = True,
        steps: bool = False,
    ) -> None:
        if space not in SPACES:
            raise InputError(unknown("interpolation space", space, SPACES), key="space")
        if hue not in HUES:
            raise InputError(unknown("hue path", hue, HUES), key="hue")
        self.name, self.space, self.hue = name, space, hue
        self.cyclic, self.steps = cyclic, steps
        self.stops = parse(stops, cyclic=cyclic, steps=steps)
        self._fill(_table(self))

    def _fill(self, colours: F) -> None:
        padded = np.zeros((len(colours), 4), np.float32)
        padded[:, :3] = np.clip(colours, 0, 1)
        padded.setflags(write=False)
        self.table: Light = padded
        self._items = padded.view(np.complex128).ravel()

    def __call__(self, u: ArrayLike) -> Light:
        """Return the colours at ``u``.

        Parameters
        ----------
        u
            (...) places in the palette, 0..1; wraps round if cyclic, else held at the ends.

        Returns
        -------
        (..., 3) float32
            Linear light 0..1: a view of a fresh, padded (..., 4) array.
        """
        last = len(self._items) - 1
        if self.cyclic:
            scaled = np.multiply(u, last + 1.0, dtype=np.float64)
            scaled += _ROUND
            index = np.atleast_1d(scaled).view(np.int64)
            index &= last
        else:
            scaled = np.multiply(u, float(last), dtype=np.float64)
            np.clip(scaled, 0, last, out=np.atleast_1d(scaled))
            index = np.atleast_1d(scaled + _ROUND).view(np.int64)
            index &= (last << 1) | 1
        padded = np.empty((*np.shape(u), 4), np.float32)
        items = np.atleast_1d(padded.view(np.complex128)[..., 0])
        # "wrap" never acts here; it spares numpy the buffering of its range check.
        np.take(self._items, index, mode="wrap", out=items)
        return padded[..., :3]

    def through(self, matrix: F) -> Palette:
        """Return this palette with each colour's light multiplied by a (3, 3) matrix."""
        mixed = (matrix * self.table[:, None, :3]).sum(-1)
        other = self.remade(mixed.clip(0), cyclic=self.cyclic)
        other.stops = tuple(replace(s, rgb=_mixed(matrix, s.rgb)) for s in self.stops)
        return other

    def stop(self, number: ArrayLike) -> Light:
        """Return the colour of stop ``number`` (...), counted round and round, as `__call__`."""
        colours = np.zeros((len(self.stops), 4), np.float32)
        colours[:, :3] = np.clip([s.rgb for s in self.stops], 0, 1)
        index = np.asarray(number).astype(np.int64)
        padded = np.empty((*index.shape, 4), np.float32)
        items = np.atleast_1d(padded.view(np.complex128)[..., 0])
        np.take(colours.view(np.complex128).ravel(), np.atleast_1d(index), mode="wrap", out=items)
        return padded[..., :3]

    def run(self, place: F, moved: F) -> Light:
        """Return the colours at ``place - moved``: what stands in space, moved on in time.

        Whole numbers of 32 bits wrap round by themselves and are subtracted far quicker than
        places are worked out one by one. A palette that is not cyclic is asked place by place.

        Parameters
        ----------
        place
            (N,) places in the palette.
        moved
            (T, 1) how far the palette has moved.

        Returns
        -------
        (T, N, 3) float32
            As `__call__`.
        """
        if not self.cyclic:
            return self(place - moved)
        entries = len(self._items)
        half = np.uint32(2**31 // entries)  # entries stand for what is nearest to them
        index = (_turns(place) + half) - _turns(moved)
        index >>= np.uint32(33 - entries.bit_length())
        padded = np.empty((*index.shape, 4), np.float32)
        items = padded.view(np.complex128)[..., 0]
        np.take(self._items, index.astype(np.intp), mode="wrap", out=items)
        return padded[..., :3]

    def __getstate__(self) -> dict[str, object]:
        return {k: getattr(self, k) for k in self.__slots__ if k != "_items"}

    def __setstate__(self, state: dict[str, object]) -> None:
        for key, value in state.items():
            setattr(self, key, value)
        self.table.setflags(write=False)
        self._items = self.table.view(np.complex128).ravel()

    def __repr__(self) -> str:
        return f"Palette({self.name!r}, {[s.text for s in self.stops]})"

    def remade(self, colours: ArrayLike, *, cyclic: bool = True) -> Palette:
        """Return a palette with the table ``colours``, (2**n, 3) linear light, and these stops.

        An effect that repeats a pattern along a distance draws one repeat this way and then
        looks it up, instead of working the pattern out at every pixel of every frame.
        """
        values = np.asarray(colours, np.float64)
        if len(values) & (len(values) - 1) or values.shape[1:] != (3,):
            raise ValueError("a table has a power of two rows of three")
        other = object.__new__(Palette)
        for key in ("name", "space", "hue", "steps", "stops"):
            setattr(other, key, getattr(self, key))
        other.cyclic = cyclic
        other._fill(values)
        return other


def parse(stops: Sequence[object], *, cyclic: bool = True, steps: bool = False) -> tuple[Stop, ...]:
    """Read stops; see `Palette`. The key of an error is ``stops[i]``."""
    if isinstance(stops, str) or not isinstance(stops, Sequence):
        raise InputError(f"is {stops!r:.60}; wanted a list of colours", key="stops")
    if not 1 <= len(stops) <= MOST_STOPS:
        raise InputError(f"has {len(stops)} stops; wanted 1 to {MOST_STOPS}", key="stops")
    colours: list[tuple[str, tuple[float, float, float]]] = []
    places: list[float | None] = []
    for i, stop in enumerate(stops):
        try:
            text, place = _split(stop)
            r, g, b = (float(v) for v in css.colour(text))
        except InputError as error:
            raise error.at(key=f"stops[{i}]") from None
        colours.append((text, (r, g, b)))
        places.append(place)
    spread = _spread(places, 1.0 if len(stops) == 1 or not (cyclic or steps) else None)
    return tuple(Stop(p, t, c) for p, (t, c) in zip(spread, colours, strict=True))


def _mixed(matrix: F, rgb: tuple[float, float, float]) -> tuple[float, float, float]:
    r, g, b = (matrix * np.array(rgb)).sum(-1).clip(0).tolist()
    return r, g, b


def _turns(u: F) -> NDArray[np.uint32]:
    """Return the part of each number that lies behind its point, in 2**32ths."""
    return ((u - np.floor(u)) * 2.0**32).astype(np.uint64).astype(np.uint32)


def _split(stop: object) -> tuple[str, float | None]:
    """Return a stop's colour and its position, if it has one."""
    if isinstance(stop, str):
        return stop, None
    if isinstance(stop, Mapping):
        if extra := set(stop) - {"colour", "at"}:
            raise InputError(f'has no key "{min(map(str, extra))[:40]}"; wanted colour and at')
        if "at" not in stop:
            return _split(stop.get("colour"))
        stop = (stop.get("colour"), stop["at"])
    if not isinstance(stop, Sequence) or len(stop) != 2 or not isinstance(stop[0], str):
        raise InputError(f'is {stop!r:.60}; wanted "colour" or {{ colour = "…", at = 0.5 }}')
    place = stop[1]
    if isinstance(place, str) and place.strip().endswith("%"):
        with contextlib.suppress(ValueError):
            place = float(place.strip()[:-1]) / 100
    if isinstance(place, bool) or not isinstance(place, (int, float)) or not 0 <= place <= 1:
        raise InputError(f"its position is {stop[1]!r:.40}; wanted 0 to 1, or 0 % to 100 %")
    return stop[0], float(place)


def _spread(places: list[float | None], end: float | None) -> list[float]:
    """Fill positions that were left out, evenly between those that were given."""
    n = len(places)
    known: dict[int, float] = {i: p for i, p in enumerate(places) if p is not None}
    for i, j in zip(list(known), list(known)[1:], strict=False):
        if known[j] < known[i]:
            raise InputError(
                f"its position {known[j]:g} lies before the one of the stop before",
                key=f"stops[{j}]",
            )
    known.setdefault(0, 0.0)
    # A cyclic palette's first stop stands again at 1, so its last one comes a share earlier.
    if end is None:
        known[n] = 1.0
    else:
        known.setdefault(n - 1, end)
    at = sorted(known)
    return [float(v) for v in np.interp(range(n), at, [known[i] for i in at])]


def _table(palette: Palette) -> F:
    """Work out the K colours."""
    stops = palette.stops
    places = np.array([s.at for s in stops])
    rgb = np.array([s.rgb for s in stops])
    u = np.arange(K) / (K if palette.cyclic else K - 1)
    if palette.steps:
        # Before the first stop's own place a cyclic palette still shows the last one.
        index = np.searchsorted(places, u + 1e-12, side="right") - 1
        return rgb[index if palette.cyclic else np.maximum(index, 0)]
    lab = oklab.from_linear(rgb)
    if palette.cyclic:
        places = np.concatenate([places, [places[0] + 1]])
        lab = np.concatenate([lab, lab[:1]])
        u = np.where(u < places[0], u + 1, u)
    if palette.space == "oklab":
        return oklab.to_linear(_between(u, places, lab))
    lch = oklab.to_lch(lab)
    lch[:, 2] = _hues(lch, palette.hue)
    return oklab.to_linear(oklab.from_lch(_between(u, places, lch)))


def _between(u: F, places: F, values: F) -> F:
    return np.stack([np.interp(u, places, values[:, i]) for i in range(3)], -1)


def _hues(lch: F, path: str) -> F:
    """Unwrap the stops' hues so that plain interpolation takes the path asked for."""
    hue = lch[:, 2].copy()
    coloured = np.flatnonzero(lch[:, 1] >= _POWERLESS)
    if not len(coloured):
        return hue
    # A grey stop takes the hue of the coloured stop before it (or the first one).
    for i in range(len(hue)):
        if lch[i, 1] < _POWERLESS:
            before = coloured[coloured < i]
            hue[i] = hue[before[-1] if len(before) else coloured[0]]
    for i in range(1, len(hue)):
        step = (hue[i] - hue[i - 1]) % 360
        down = {"shorter": step > 180, "longer": 0 < step < 180, "decreasing": step > 0}
        if down.get(path, False):
            step -= 360
        hue[i] = hue[i - 1] + step
    return hue
