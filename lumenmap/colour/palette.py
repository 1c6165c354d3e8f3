"""Palettes: CSS colour stops interpolated once, in OKLab, into a table of linear light.

Strategy: an effect asks for millions of colours a second, so a palette is a table of `K` entries,
each padded to four float32: one 16-byte item that one gather fetches. `Palette.__call__` gives the
(..., 3) view of the padded array; a renderer may work on its ``base`` in place.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lumenmap.colour import oklab
from lumenmap.colour.gamut import brought_in
from lumenmap.colour.matrix import Matrix
from lumenmap.colour.stops import parse
from lumenmap.core.errors import InputError, unknown

Light = NDArray[np.float32]
F = NDArray[np.float64]

#: Entries of a table: a power of two, so that wrapping round is one bit mask.
K = 1024
#: Adding 1.5 × 2**52 leaves a double's integer part, rounded to nearest, in its lowest bits.
_ROUND = 6755399441055744.0
Space = Literal["oklab", "oklch"]
Hue = Literal["shorter", "longer", "increasing", "decreasing"]
SPACES: tuple[Space, ...] = get_args(Space)
HUES: tuple[Hue, ...] = get_args(Hue)
#: Below this OKLab chroma a colour has no hue of its own (CSS Color 4: "powerless").
_POWERLESS = 0.02


class Palette:
    """A range of colours.

    Parameters
    ----------
    name
        What people call it.
    stops
        CSS colours, or (colour, position) pairs, or as in a file ``{"colour": …, "at": …}``;
        positions rise from 0 to 1; those left out are spaced evenly. A cyclic palette returns
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
        A stop isn't a colour, positions fall, or an unknown space or hue path.
    """

    __slots__ = (
        "_items",
        "_wide",
        "cyclic",
        "hue",
        "kept",
        "name",
        "space",
        "steps",
        "stops",
        "table",
    )

    def __init__(
        self,
        name: str,
        stops: Sequence[object],
        space: Space = "oklab",
        hue: Hue = "shorter",
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
        colours = _table(self)
        self._wide: F | None = colours  # linear sRGB, also where a screen can't show it
        self._fill(colours)

    def _fill(self, colours: F) -> None:
        padded = np.zeros((len(colours), 4), np.float32)
        padded[:, :3] = np.clip(colours, 0, 1)
        padded.setflags(write=False)
        self.table: Light = padded
        self._items = padded.view(np.complex128).ravel()
        self.kept: dict[Any, Any] = {}  # see `lumenmap.motion.kept`

    def __setattr__(self, name: str, value: object) -> None:
        """Refuse changes once it is made: layers share palettes, and effects get them."""
        if hasattr(self, "kept"):
            raise AttributeError(f"a palette can't be changed; {name} was set when it was made")
        object.__setattr__(self, name, value)

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

    def mixed(self, space: Matrix) -> Palette:
        """Return this palette in the channels of another space, as `gamut.brought_in` has them.

        A palette that came from another process has only the colours that a screen can show.
        """
        colours = self.table[:, :3] if self._wide is None else self._wide
        other = self.remade(brought_in(colours, space), cyclic=self.cyclic)
        stops = tuple(s._replace(rgb=_three(brought_in(s.rgb, space))) for s in self.stops)
        object.__setattr__(other, "stops", stops)
        return other

    def stop(self, number: ArrayLike) -> Light:
        """Return the colour of stop ``number`` (...), modulo their count, as `__call__`."""
        colours = np.zeros((len(self.stops), 4), np.float32)
        colours[:, :3] = np.clip([s.rgb for s in self.stops], 0, 1)
        index = np.asarray(number).astype(np.int64)
        padded = np.empty((*index.shape, 4), np.float32)
        items = np.atleast_1d(padded.view(np.complex128)[..., 0])
        np.take(colours.view(np.complex128).ravel(), np.atleast_1d(index), mode="wrap", out=items)
        return padded[..., :3]

    @property
    def items(self) -> NDArray[np.complex128]:
        """The table's colours, each as one item of 16 bytes, read-only."""
        return self._items

    def __getstate__(self) -> dict[str, object]:
        return {k: getattr(self, k) for k in self.__slots__ if k not in ("_items", "_wide", "kept")}

    def __setstate__(self, state: dict[str, object]) -> None:
        for key, value in state.items():
            setattr(self, key, value)
        self.table.setflags(write=False)
        self._items = self.table.view(np.complex128).ravel()
        self._wide = None
        self.kept = {}

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
        other.cyclic, other._wide = cyclic, None
        other._fill(values)
        return other


def _three(rgb: F) -> tuple[float, float, float]:
    r, g, b = rgb.tolist()
    return r, g, b


def _table(palette: Palette) -> F:
    """Calculate the K colours."""
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


def _hues(lch: F, path: Hue) -> F:
    """Unwrap the stops' hues so that plain interpolation takes the requested path."""
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
