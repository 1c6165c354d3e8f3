"""`pose`: the camera of a film, found though the house may be wired otherwise than mapped."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.evidence.evidence import NOISE, Evidence, search_of
from lumenmap.camera.film.read import Filmed
from lumenmap.camera.lens.found import Found
from lumenmap.camera.lens.pose import find_shot, on_one_line
from lumenmap.core.errors import InputError
from lumenmap.core.wording import some
from lumenmap.pictures.scene.rails import lamp_places
from lumenmap.site import Site

Ints = NDArray[np.intp]

#: A pixel fits if it is seen no further from its hole than so many times the noise.
FITS = 4.0
#: If fewer of the pixels fit the map, other wirings are tried: this many fit, or none better.
MOST_FIT = 0.85
#: Fewest spots from which a camera is looked for.
FEWEST = 12


class Posed(NamedTuple):
    """A film with its camera, and how many of its spots fit the wiring by which that was found."""

    evidence: Evidence
    fits: int


def pose(site: Site, name: str, film: Filmed, wirings: Iterable[Ints]) -> Posed:
    """Return a film with its camera, by that of the wirings with which most of its spots fit.

    Parameters
    ----------
    wirings
        (N,) the hole of each pixel, the likeliest first.

    Raises
    ------
    InputError
        Too few spots, spots all on one line, or no camera that sees them so.
    """
    spots = film.spots
    if len(spots) < FEWEST:
        few = f"only {some(len(spots), 'pixel')}" if len(spots) else "no pixels"
        raise InputError(
            f"{few} could be told apart; film again from nearer, when it is darker, and "
            "lean the phone on something"
        )
    lamps, _ = lamp_places(site)
    if on_one_line(lamps[spots.number]):
        raise InputError(
            "the pixels that it shows lie on one line, which looks the same from many places; film "
            "from where a gable or another edge shows too, or use lumenmap locate"
        )
    best: tuple[int, Found] | None = None
    for holes in wirings:
        found = _found(site, film, holes)
        if found is None:
            continue
        # Not `Found.right`, which goes by what is usual in a fit, however bad it is.
        fits = int((found.residuals < FITS * NOISE).sum())
        if best is None or fits > best[0]:
            best = fits, found
        if fits > MOST_FIT * len(spots):
            break
    if best is None:
        raise InputError(
            f"{len(spots)} pixels blink in it, but this house doesn't look like that from "
            "anywhere; check that it is a film of this house and the right way up, or film again "
            "with more of it in the picture"
        )
    return Posed(Evidence.of(name, film, best[1], site), best[0])


def _found(site: Site, film: Filmed, holes: Ints) -> Found | None:
    """Return the camera of a film of a house wired so, or None if none is found."""
    spots = film.spots
    own = holes[spots.number]
    good = np.flatnonzero((own >= 0) & (site.pixels.edge[own] >= 0))
    if len(good) < FEWEST:
        return None
    lamps, facing = lamp_places(site)
    own = own[good]
    try:
        return find_shot(lamps[own], spots.place[good], search_of(film), facing[own])
    except InputError:  # in the words of photographs and their marks
        return None
