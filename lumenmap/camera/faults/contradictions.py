"""What films of one house say against each other, in sentences."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from lumenmap.camera.faults.colours import colour_order, shows
from lumenmap.camera.faults.dark import looks_dark
from lumenmap.camera.faults.lights import Lights
from lumenmap.camera.faults.wired import Wired
from lumenmap.pixels.pixelmap import LineSpan
from lumenmap.site import Site

#: A film contradicts the others about a line if it shows so many of its pixels elsewhere, and so
#: large a part of those that others show too.
ELSEWHERE, PART = 6, 0.4


def contradictions(site: Site, films: Sequence[Lights], wired: Wired) -> list[str]:
    """Return where films contradict each other: none if there is one film."""
    if len(films) < 2:
        return []
    return [
        *_elsewhere(site, films),
        *_colours(site, films, wired),
        *_hidden(site, films),
    ]


def _elsewhere(site: Site, films: Sequence[Lights]) -> list[str]:
    """Return where a film shows a line's pixels in other holes than the others do."""
    out = []
    for film in films:
        others = {n for other in films if other is not film for n in other.fits}
        both = set(film.evidence.spots.number.tolist()) & others
        for span in site.pixels.lines:
            own = {n for n in both if span.first <= n < span.first + span.count}
            astray = own - film.fits.keys()
            if len(astray) >= max(ELSEWHERE, PART * len(own)):
                out.append(
                    f"{film.evidence.name} shows {len(astray)} pixels of line "
                    f'"{span.name}" elsewhere than the other films do: was it rewired in between? '
                    "Film all sides again."
                )
    return out


def _colours(site: Site, films: Sequence[Lights], wired: Wired) -> list[str]:
    """Return the lines whose colours differ from film to film."""
    out = []
    for span in site.pixels.lines:
        every = [film.evidence for film in films]
        told = [(film.name, colour_order(span, [film], wired)) for film in every]
        orders = {order for _, order in told if order is not None}
        if len(orders) > 1:
            each = "; ".join(f"in {name} {shows(order)}" for name, order in told if order)
            out.append(
                f'The colours of line "{span.name}" differ from film to film: {each}. Film again.'
            )
    return out


def _hidden(site: Site, films: Sequence[Lights]) -> list[str]:
    """Return the pixels that look dark in one film and are lit in another."""
    out = []
    for film, hidden in zip(films, looks_dark(site, films), strict=True):
        for span in site.pixels.lines:
            own = [n - span.first + 1 for n in hidden if _on(span, n)]
            if own:
                one = len(own) == 1
                these = f"Pixel{'' if one else 's'} {', '.join(map(str, own))}"
                out.append(
                    f'{these} of line "{span.name}" look{"s" if one else ""} dark in '
                    f"{film.evidence.name}, but another film shows {'it' if one else 'them'} lit: "
                    "something thin is in front there."
                )
    return out


def _on(span: LineSpan, number: int | np.intp) -> bool:
    return bool(span.first <= number < span.first + span.count)
