"""Pixels that stay dark between others that light, and lines whose data stops, as films show."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.faults.fault import Fault
from lumenmap.camera.faults.lights import Lights
from lumenmap.site import Site

Ints = NDArray[np.intp]

#: A pixel is dark if so many of the neighbours on each side are seen, among this many.
SEEN, AMONG = 2, 3
#: It blinks less than this part of what its neighbours do.
DARK = 0.3
#: More dark pixels in a row than this are taken for something in front of them.
IN_A_ROW = 2
#: Data stops where so many pixels or more are dark up to a line's end: a tree hides fewer [C].
TAIL = 50


def dark_faults(site: Site, films: Sequence[Lights]) -> list[Fault]:
    """Return the pixels that stay dark between others that light, and lines whose data stops.

    A pixel that any film shows lit isn't dark: in the others something hides it.
    """
    pixels = site.pixels
    found: list[Fault] = []
    for span in pixels.lines:
        own = np.arange(span.first, span.first + span.count)
        if (stop := _stops(own, films)) is not None:
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
        dark = [int(n) for n in own if pixels.lit[n] and _is_dark(int(n), own, films)]
        if dark:
            found.append(_dark(site, span.name, span.first, dark))
    return found


def looks_dark(site: Site, films: Sequence[Lights]) -> list[list[int]]:
    """Return for each film the pixels that look dark in it, though another shows them lit."""
    out = []
    for lights in films:
        others = {n for other in films if other is not lights for n in other.fits}
        hidden = []
        for span in site.pixels.lines:
            own = np.arange(span.first, span.first + span.count)
            hidden += [int(n) for n in own if int(n) in others and _looks(int(n), own, lights)]
        out.append(hidden)
    return out


def _glow(n: int, near: list[int], lights: Lights) -> float:
    """Return how strongly a pixel blinks, relative to its neighbours, where it should be."""
    film, fits, holes = lights.evidence.film, lights.fits, lights.holes
    spots, seen = film.spots, lights.evidence.seen
    offs = np.median([spots.place[fits[m]] - seen.places[holes[m]] for m in near], axis=0)
    x, y = np.floor(seen.places[holes[n]] + offs).astype(int)
    h, w = film.blinks.shape[1:]
    turn = n % len(film.blinks)
    window = film.blinks[turn, max(0, y - 2) : min(h, y + 3), max(0, x - 2) : min(w, x + 3)]
    usual = float(np.median([spots.strength[fits[m]] for m in near]))
    return float(window.max(initial=0)) / max(usual, 1e-6)


def _is_dark(n: int, own: Ints, films: Sequence[Lights]) -> bool:
    """Return whether a pixel stays dark by all films that can tell, if any can."""
    told = [_looks(n, own, lights) for lights in films]
    return True in told and False not in told


def _looks(n: int, own: Ints, lights: Lights) -> bool | None:
    """Return whether a pixel stays dark in a film in which its neighbours on both sides light.

    None if it can't be told.
    """
    fits = lights.fits
    if n in fits:
        return False
    if not lights.visible[n]:
        return None
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
            return None
        sides += kept
    apart = np.abs(np.diff(lights.holes[[*sorted([*sides, n])]]))
    if (apart > 2 * IN_A_ROW).any():  # neighbours on the wire, but not on the house
        return None
    return _glow(n, sides, lights) < DARK


def _stops(own: Ints, films: Sequence[Lights]) -> int | None:
    """Return the first pixel of a line from which on all that could be seen are dark."""
    seen = [int(n) for n in own if any(int(n) in lights.fits for lights in films)]
    after = own[own > seen[-1]] if seen else own
    least = TAIL if seen else min(TAIL, max(TAIL // 2, len(own) // 2))
    visible = np.any([lights.visible for lights in films], axis=0)
    if int(visible[after].sum()) < least:
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
