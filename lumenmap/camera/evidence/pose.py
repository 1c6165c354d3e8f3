"""`pose`: the camera of a film, found though the house may be wired otherwise than mapped."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.evidence.wirings import wirings
from lumenmap.camera.film.spots import Spots
from lumenmap.camera.lens.found import Found, Search
from lumenmap.camera.lens.pose import find_shot
from lumenmap.core.errors import InputError
from lumenmap.site import Site

F = NDArray[np.float64]

#: How exactly spots are found in a film (pixels), and rails hang (about 2 cm [C]), together.
NOISE = 2.0
#: A pixel fits if it is seen no further from its hole than so many times that.
FITS = 4.0
#: If fewer of the pixels fit the map, other wirings are tried: this many fit, or none better.
MOST_FIT = 0.85
#: Fewest spots from which a camera is looked for.
FEWEST = 12


def pose(site: Site, spots: Spots, lamps: F, facing: F, search: Search) -> Found:
    """Return the camera of spots, by the wiring with which most of them fit."""
    pixels = site.pixels
    best: Found | None = None
    most = 0
    told: InputError | None = None
    for holes in wirings(site):
        own = holes[spots.number]
        good = np.flatnonzero((own >= 0) & (pixels.edge[own] >= 0))
        if len(good) < FEWEST:
            continue
        own = own[good]
        try:
            found = find_shot(lamps[own], spots.place[good], search, facing[own])
        except InputError as error:
            told = told or error
            continue
        # Not `Found.right`, which goes by what is usual in a fit, however bad it is.
        fit = int((found.residuals < FITS * NOISE).sum())
        if best is None or fit > most:
            best, most = found, fit
        if most > MOST_FIT * len(spots):
            break
    if best is None:
        raise told or InputError(
            "the film shows too little of the house to find where it was taken"
        )
    return best
