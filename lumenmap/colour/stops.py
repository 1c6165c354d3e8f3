"""Stops of a palette as people write them: CSS colours and their positions."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping, Sequence
from typing import NamedTuple

import numpy as np

from lumenmap.colour import css
from lumenmap.core.errors import InputError
from lumenmap.core.plain import shown

MOST_STOPS = 256


class Stop(NamedTuple):
    """One colour of a palette: its position 0..1, its text, and its linear sRGB."""

    at: float
    text: str
    rgb: tuple[float, float, float]


def parse(stops: Sequence[object], *, cyclic: bool = True, steps: bool = False) -> tuple[Stop, ...]:
    """Read stops; see `Palette`. The key of an error is ``stops item N``, counted from 1."""
    if isinstance(stops, str) or not isinstance(stops, Sequence):
        raise InputError(f"is {shown(stops)}; expected a list of colours", key="stops")
    if not 1 <= len(stops) <= MOST_STOPS:
        raise InputError(f"has {len(stops)} stops; expected 1 to {MOST_STOPS}", key="stops")
    colours: list[tuple[str, tuple[float, float, float]]] = []
    places: list[float | None] = []
    for i, stop in enumerate(stops):
        try:
            text, place = _split(stop)
            r, g, b = (float(v) for v in css.colour(text))
        except InputError as error:
            raise error.at(key=f"stops item {i + 1}") from None
        colours.append((text, (r, g, b)))
        places.append(place)
    spaced = _space(places, 1.0 if len(stops) == 1 or not (cyclic or steps) else None)
    return tuple(Stop(p, t, c) for p, (t, c) in zip(spaced, colours, strict=True))


def _split(stop: object) -> tuple[str, float | None]:
    """Return a stop's colour and its position, if it has one."""
    if isinstance(stop, str):
        return stop, None
    if isinstance(stop, Mapping):
        if extra := set(stop) - {"colour", "at"}:
            raise InputError(f'has no key "{min(map(str, extra))[:40]}"; expected colour and at')
        if "at" not in stop:
            return _split(stop.get("colour"))
        stop = (stop.get("colour"), stop["at"])
    if not isinstance(stop, Sequence) or len(stop) != 2 or not isinstance(stop[0], str):
        raise InputError(f'is {shown(stop)}; expected "colour" or {{ colour = "…", at = 0.5 }}')
    place = stop[1]
    if isinstance(place, str) and place.strip().endswith("%"):
        with contextlib.suppress(ValueError):
            place = float(place.strip()[:-1]) / 100
    if isinstance(place, bool) or not isinstance(place, (int, float)) or not 0 <= place <= 1:
        raise InputError(f"its position is {shown(stop[1])}; expected 0 to 1, or 0 % to 100 %")
    return stop[0], float(place)


def _space(places: list[float | None], end: float | None) -> list[float]:
    """Fill positions that were left out, evenly between those that were given."""
    n = len(places)
    known: dict[int, float] = {i: p for i, p in enumerate(places) if p is not None}
    for i, j in zip(list(known), list(known)[1:], strict=False):
        if known[j] < known[i]:
            raise InputError(
                f"its position {known[j]:g} is before that of the stop before it",
                key=f"stops item {j + 1}",
            )
    known.setdefault(0, 0.0)
    # A cyclic palette's first stop is at 1 again, so its last one comes before that.
    if end is None:
        known[n] = 1.0
    else:
        known.setdefault(n - 1, end)
    at = sorted(known)
    return [float(v) for v in np.interp(range(n), at, [known[i] for i in at])]
