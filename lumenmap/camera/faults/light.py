"""What pixels' light says: those that stay dark, data that stops, and the order of the colours."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.faults.fault import Fault
from lumenmap.camera.faults.sight import can_see
from lumenmap.camera.faults.standing import Standing, in_holes
from lumenmap.camera.film.read import Filmed

if TYPE_CHECKING:
    from lumenmap.site import Site

F = NDArray[np.float64]
B = NDArray[np.bool_]

#: A pixel is dark if so many of the neighbours on each side are seen, among this many.
SEEN, AMONG = 2, 3
#: It blinks less than this part of what its neighbours do.
DARK = 0.3
#: More dark pixels in a row than this are taken for something in front of them.
IN_A_ROW = 2
#: Data stops where so many pixels or more are dark up to a line's end: a tree hides fewer [C].
TAIL = 50
#: Spots that tell a line's colours, at least; and how far the right order must be ahead of others.
TELL, AHEAD = 6, 1.15


@dataclass(frozen=True, slots=True, eq=False)
class _Lights:
    """What a film shows of the pixels.

    ``holes`` (N,) where each seems to sit, ``fits`` the spot of each that is seen there,
    ``visible`` (N,) which should be.
    """

    film: Filmed
    standing: Standing
    holes: NDArray[np.intp]
    fits: dict[int, int]
    visible: B


def dark_faults(site: Site, film: Filmed, standing: Standing) -> list[Fault]:
    """Return the pixels that stay dark between others that light, and lines whose data stops."""
    pixels = site.pixels
    holes = in_holes(standing.pieces, len(pixels))
    fits = fitting(film, standing, holes)
    lights = _Lights(film, standing, holes, fits, _expected(can_see(site, standing), fits, holes))
    found: list[Fault] = []
    for span in pixels.lines:
        own = np.arange(span.first, span.first + span.count)
        if (stop := _stops(own, lights)) is not None:
            number = stop - span.first
            what = f"after pixel {number}" if number else "before pixel 1"
            words = (
                f'Line "{span.name}" stays dark {what}: the data or the power stops there, '
                "unless something hides the rest."
            )
            fix = (f"check the connector and the wire {what}; unplug the supply first",)
            edges = _edge_names(site, [stop])
            rest = tuple(range(stop, span.first + span.count))
            found.append(Fault("stops", (span.name,), edges, rest, words, fix))
            own = own[: stop - span.first]
        dark = [n for n in own if _is_dark(int(n), own, lights)]
        dark = [n for n in dark if pixels.lit[n]]
        if dark:
            found.append(_dark(site, span.name, span.first, [int(n) for n in dark]))
    return found


def _expected(can: B, fits: dict[int, int], holes: NDArray[np.intp]) -> B:
    """Return (N,) which pixels should be seen: where they seem to sit and where the map has them.

    Where nothing is seen of the end of a line, its way through the holes is a guess; it may even
    lead through holes in which others are seen.
    """
    taken = np.zeros(len(can), bool)
    taken[[holes[n] for n in fits]] = True
    free = (holes >= 0) & ~taken[holes]
    free[list(fits)] = True
    return np.asarray(can & can[holes] & free)


def fitting(film: Filmed, standing: Standing, holes: NDArray[np.intp]) -> dict[int, int]:
    """Return the spot of each pixel that is seen in its hole."""
    seen, spots = standing.seen, film.spots
    best: dict[int, tuple[float, int]] = {}
    for i, n in enumerate(spots.number.tolist()):
        off = spots.place[i] - seen.places[holes[n]]
        u = float(off @ seen.along[holes[n]]) / float(seen.spacing[holes[n]])
        size = float(np.linalg.norm(off))
        if abs(u) < 1 and size < seen.across[holes[n]] and size < best.get(n, (np.inf, 0))[0]:
            best[n] = size, i
    return {n: i for n, (_, i) in best.items()}


def _glow(n: int, near: list[int], lights: _Lights) -> float:
    """Return how strongly a pixel blinks, relative to its neighbours, where it should be."""
    film, fits, holes = lights.film, lights.fits, lights.holes
    spots, seen = film.spots, lights.standing.seen
    offs = np.median([spots.place[fits[m]] - seen.places[holes[m]] for m in near], axis=0)
    x, y = np.floor(seen.places[holes[n]] + offs).astype(int)
    h, w = film.blinks.shape[1:]
    turn = n % len(film.blinks)
    window = film.blinks[turn, max(0, y - 2) : min(h, y + 3), max(0, x - 2) : min(w, x + 3)]
    usual = float(np.median([spots.strength[fits[m]] for m in near]))
    return float(window.max(initial=0)) / max(usual, 1e-6)


def _is_dark(n: int, own: NDArray[np.intp], lights: _Lights) -> bool:
    """Return whether a pixel stays dark though its neighbours on both sides light."""
    fits = lights.fits
    if n in fits or not lights.visible[n]:
        return False
    sides, in_a_row = [], 1
    for way in (-1, 1):
        at = n + way
        while own[0] <= at <= own[-1] and at not in fits and in_a_row <= IN_A_ROW:
            at, in_a_row = at + way, in_a_row + 1
        kept: list[int] = []
        while own[0] <= at <= own[-1] and at in fits and len(kept) < AMONG:
            kept.append(at)
            at += way
        if len(kept) < SEEN or in_a_row > IN_A_ROW:
            return False
        sides += kept
    steps = np.abs(np.diff(lights.holes[[*sorted([*sides, n])]]))
    if (steps > 2 * IN_A_ROW).any():  # neighbours on the wire, but not on the house
        return False
    return _glow(n, sides, lights) < DARK


def _stops(own: NDArray[np.intp], lights: _Lights) -> int | None:
    """Return the first pixel of a line from which on all that could be seen are dark."""
    seen = [int(n) for n in own if int(n) in lights.fits]
    after = own[own > seen[-1]] if seen else own
    least = TAIL if seen else min(TAIL, max(TAIL // 2, len(own) // 2))
    if int(lights.visible[after].sum()) < least:
        return None
    return int(after[0])


def _dark(site: Site, line: str, first: int, dark: list[int]) -> Fault:
    numbers = [n - first + 1 for n in dark]
    listed = ", ".join(map(str, numbers))
    one = len(dark) == 1
    words = (
        f'Pixel{"" if one else "s"} {listed} of line "{line}" stay{"s" if one else ""} dark, '
        f"though the neighbours light: dead, very dim, or behind something thin."
    )
    known = next(x.dead for x in site.house.lines if x.name == line)
    every = ", ".join(map(str, sorted({*known, *numbers})))
    change = (f'replace {"it" if one else "them"}, or in line "{line}" write dead = [{every}]',)
    return Fault("dark", (line,), _edge_names(site, dark), tuple(dark), words, change)


def _edge_names(site: Site, numbers: list[int]) -> tuple[str, ...]:
    edges = [int(site.pixels.edge[n]) for n in numbers]
    return tuple(dict.fromkeys(site.pixels.edge_names[e] for e in edges if e >= 0))


def colour_faults(site: Site, film: Filmed, standing: Standing) -> list[Fault]:
    """Return the lines whose colours come in another order than the house file has."""
    holes = in_holes(standing.pieces, len(site.pixels))
    fits = fitting(film, standing, holes)
    found = []
    for span in site.pixels.lines:
        own = [i for n, i in fits.items() if span.first <= n < span.first + span.count]
        if len(own) < TELL:
            continue
        shown = _shown(film, film.spots.place[own])
        order = _order(shown)
        if order is None or order == (0, 1, 2):
            continue
        turned = {"RGB"[k]: "RGB"[order[k]] for k in range(3)}
        right = "".join(turned.get(c, c) for c in span.order)
        words = (
            f'The colours of line "{span.name}" come in another order: red shows '
            f"{_NAMES[order[0]]}, green {_NAMES[order[1]]}, blue {_NAMES[order[2]]}."
        )
        change = (f'in line "{span.name}" of the house file write order = "{right}"',)
        pixels = tuple(range(span.first, span.first + span.count))
        found.append(Fault("colours", (span.name,), (), pixels, words, change))
    return found


_NAMES = ("red", "green", "blue")


def _shown(film: Filmed, places: F) -> F:
    """Return (3, 3): how much red, green and blue each of the first three channels shows."""
    h, w = film.dark.shape[:2]
    x = np.clip(np.floor(places[:, 0]).astype(int), 3, w - 4)
    y = np.clip(np.floor(places[:, 1]).astype(int), 3, h - 4)
    side = np.arange(-3, 4)
    patch = film.colours[:3][:, y[:, None, None] + side[:, None], x[:, None, None] + side]
    each = np.maximum(patch.mean((2, 3)), 0)  # (3, K, 3)
    return np.asarray(np.median(each, axis=1), np.float64)


def _order(shown: F) -> tuple[int, int, int] | None:
    """Return the colour that each channel shows, or None if it can't be told."""
    chroma = shown / np.maximum(shown.sum(1, keepdims=True), 1e-9)
    ways = list(itertools.permutations(range(3)))
    scores = [float(sum(chroma[k, way[k]] for k in range(3))) for way in ways]
    ranked = sorted(zip(scores, ways, strict=True), reverse=True)
    if shown.sum() < 3 or ranked[0][0] < AHEAD * ranked[1][0]:
        return None
    a, b, c = ranked[0][1]
    return a, b, c
