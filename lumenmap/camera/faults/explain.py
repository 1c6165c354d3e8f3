"""`explain`: where the cameras of films stood and how the house is wired, found from each other.

Each film's camera is found by itself, though the house may be wired otherwise than mapped. Then
what all films show is put together: one wiring explains them all, and each camera is found again
with it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.evidence.evidence import Evidence
from lumenmap.camera.evidence.pose import Posed, pose
from lumenmap.camera.evidence.wirings import wirings
from lumenmap.camera.faults.backwards import turned
from lumenmap.camera.faults.holes import Piece, line_pieces, snapped
from lumenmap.camera.faults.steps import Step, steps
from lumenmap.camera.faults.wired import Wired, in_holes
from lumenmap.camera.film.read import Filmed
from lumenmap.core.errors import InputError, together
from lumenmap.pixels.pixelmap import PixelMap
from lumenmap.site import Site

Ints = NDArray[np.intp]
Films = tuple[Evidence, ...]

#: A film is put in place by the wiring that others show if this part of what fits its own fits it.
ALIKE = 0.9
#: How many steps there may be.
MOST_STEPS = 3
#: Times that cameras and holes are found from each other.
ROUNDS = 2


@dataclass(frozen=True, slots=True, eq=False)
class Explained:
    """What films say, and the wiring that explains it.

    ``left_out`` are the films whose camera wasn't found, and why.
    """

    evidence: Films
    wired: Wired
    left_out: dict[str, InputError]


def explain(site: Site, films: Mapping[str, Filmed]) -> Explained:
    """Return the cameras of films, by name, and which pixel sits in which hole.

    Raises
    ------
    InputError
        No camera is found: too few spots, spots all on one line, or nothing sees them so.
    """
    posed: dict[str, Posed] = {}
    left_out: dict[str, InputError] = {}
    for name, film in films.items():
        try:
            posed[name] = pose(site, name, film, wirings(site))
        except InputError as error:
            left_out[name] = error
    if not posed:
        raise together([error.at(file=name) for name, error in left_out.items()])
    known = _by_the_others(site, posed)
    for name in list(left_out):
        if (found := _by_wiring(site, name, films[name], _shown(site, known))) is not None:
            known[name] = found.evidence
            del left_out[name]
    placed = tuple(known[name] for name in films if name in known)
    for _ in range(ROUNDS):
        pieces = _followed(placed, site.pixels)
        holes = in_holes(pieces, len(site.pixels))
        placed = _refined(placed, holes, site)
    placed, made = _with_steps(placed, holes, site)
    return Explained(placed, Wired.of(pieces, made, site.pixels), left_out)


def _by_the_others(site: Site, posed: Mapping[str, Posed]) -> dict[str, Evidence]:
    """Return the films, each with the camera found by the wiring that larger ones show, if it fits.

    One wiring for all is likelier than one for each: a film that shows little may fit a wrong one
    as well, from a place where nobody stood.
    """
    known: dict[str, Evidence] = {}
    for name in sorted(posed, key=lambda name: -posed[name].fits):
        own = posed[name]
        if known:
            other = _by_wiring(site, name, own.evidence.film, _shown(site, known))
            if other is not None and other.fits >= ALIKE * own.fits:
                own = other
        known[name] = own.evidence
    return known


def _shown(site: Site, known: Mapping[str, Evidence]) -> Ints:
    """Return (N,) the holes in which films show the pixels."""
    return in_holes(_followed(list(known.values()), site.pixels), len(site.pixels))


def _by_wiring(site: Site, name: str, film: Filmed, holes: Ints) -> Posed | None:
    """Return a film with the camera by which most of its spots fit a wiring, if there is one."""
    try:
        found = pose(site, name, film, [holes])
    except InputError:
        return None
    return found if 2 * found.fits > len(film.spots) else None


def _followed(films: Sequence[Evidence], pixels: PixelMap) -> dict[str, list[Piece]]:
    """Return each line's way through the holes, without shifts of a few holes."""
    ways = {s.name: snapped(line_pieces(films, s), pixels) for s in pixels.lines}
    return {s.name: turned(ways[s.name], films, s, pixels) for s in pixels.lines}


def _refined(films: Films, holes: Ints, site: Site) -> Films:
    return tuple(film.refined(holes, site) for film in films)


def _with_steps(films: Films, holes: Ints, site: Site) -> tuple[Films, tuple[Step, ...]]:
    """Return the films with pixels too many or too few where that fits better, and where."""

    def tried(made: list[Step]) -> tuple[Films, list[Step]]:
        """Return the films with these steps, and which others are clear then."""
        own = holes
        for step in made:
            own = _moved(own, step, site.pixels)
        with_them = _refined(films, own, site) if made else films
        return with_them, steps(with_them, own, site)

    made: list[Step] = []
    best, clear = tried(made)
    for _ in range(MOST_STEPS):
        if clear:
            made = _joined(made, clear[0])
            best, clear = tried(made)
    # The first may have been the shadow of a later one: each is asked for again without it.
    for step in made[:-1]:
        rest = [s for s in made if s != step]
        without, clear = tried(rest)
        if not clear:
            made, best = rest, without
    return best, tuple(made)


def _joined(made: list[Step], step: Step) -> list[Step]:
    """Return the steps with one more; two in one place are one, or none."""
    same = [s for s in made if s.first == step.first]
    rest = [s for s in made if s.first != step.first]
    size = step.size + sum(s.size for s in same)
    return [*rest, step._replace(size=size)] if size else rest


def _moved(holes: Ints, step: Step, pixels: PixelMap) -> Ints:
    """Return the holes with all pixels of a line from a step on moved along their wire."""
    span = pixels.lines[int(pixels.line[step.first])]
    part = slice(step.first, span.first + span.count)
    way = np.sign(np.gradient(holes.astype(float))).astype(np.intp)
    out = holes.copy()
    out[part] += step.size * way[part]
    out[(out < 0) | (out >= len(pixels))] = -1
    return out
