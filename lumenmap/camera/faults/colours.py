"""The order in which a line's colours come, as films show it."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.evidence.evidence import Evidence
from lumenmap.camera.faults.fault import Fault
from lumenmap.camera.faults.wired import Wired
from lumenmap.camera.film.read import Filmed
from lumenmap.pixels.pixelmap import LineSpan
from lumenmap.site import Site

F = NDArray[np.float64]

#: Spots that tell a line's colours, at least; and how far the right order must be ahead of others.
TELL, AHEAD = 6, 1.15
_NAMES = ("red", "green", "blue")
#: Which colour the first three channels show.
Order = tuple[int, int, int]


def colour_faults(site: Site, films: Sequence[Evidence], wired: Wired) -> list[Fault]:
    """Return the lines whose colours come in another order than the house file has."""
    found = []
    for span in site.pixels.lines:
        order = colour_order(span, films, wired)
        if order is None or order == (0, 1, 2):
            continue
        turned = {"RGB"[k]: "RGB"[order[k]] for k in range(3)}
        right = "".join(turned.get(c, c) for c in span.order)
        words = f'The colours of line "{span.name}" come in another order: {shows(order)}.'
        change = (f'in line "{span.name}" of the house file write order = "{right}"',)
        pixels = tuple(range(span.first, span.first + span.count))
        found.append(Fault("colours", (span.name,), (), pixels, words, change))
    return found


def colour_order(span: LineSpan, films: Sequence[Evidence], wired: Wired) -> Order | None:
    """Return the colour that each channel of a line shows, or None if too little is seen."""
    parts = []
    for film in films:
        fits = film.fitting(wired.holes)
        own = [i for n, i in fits.items() if span.first <= n < span.first + span.count]
        parts.append(_shown(film.film, film.spots.place[own]))
    each = np.concatenate(parts, axis=1)
    return _order(np.median(each, axis=1)) if each.shape[1] >= TELL else None


def shows(order: Order) -> str:
    """Return in words what each channel shows."""
    a, b, c = (_NAMES[k] for k in order)
    return f"red shows {a}, green {b}, blue {c}"


def _shown(film: Filmed, places: F) -> F:
    """Return (3, K, 3): how much red, green and blue each of the first three channels shows."""
    h, w = film.dark.shape[:2]
    x = np.clip(np.floor(places[:, 0]).astype(int), 3, w - 4)
    y = np.clip(np.floor(places[:, 1]).astype(int), 3, h - 4)
    side = np.arange(-3, 4)
    patch = film.colours[:3][:, y[:, None, None] + side[:, None], x[:, None, None] + side]
    return np.asarray(np.maximum(patch.mean((2, 3)), 0), np.float64)


def _order(shown: F) -> Order | None:
    """Return the colour that each channel shows, or None if it can't be told."""
    chroma = shown / np.maximum(shown.sum(1, keepdims=True), 1e-9)
    ways = list(itertools.permutations(range(3)))
    scores = [float(sum(chroma[k, way[k]] for k in range(3))) for way in ways]
    ranked = sorted(zip(scores, ways, strict=True), reverse=True)
    if shown.sum() < 3 or ranked[0][0] < AHEAD * ranked[1][0]:
        return None
    a, b, c = ranked[0][1]
    return a, b, c
