"""`Lights`: which pixels a film shows lit in their holes, and which it should show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.evidence.evidence import Evidence
from lumenmap.camera.evidence.sight import can_see
from lumenmap.camera.faults.wired import Wired
from lumenmap.site import Site

B = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Lights:
    """What a film shows of the pixels.

    Attributes
    ----------
    evidence
        The film.
    holes
        (N,) where each pixel seems to sit.
    fits
        The spot of each pixel that is seen there.
    in_sight
        (N,) whether the camera could see it there.
    visible
        (N,) whether it should be seen: there, and where the map has it.
    """

    evidence: Evidence
    holes: NDArray[np.intp]
    fits: dict[int, int]
    in_sight: B
    visible: B


def lights_of(site: Site, films: Sequence[Evidence], wired: Wired) -> list[Lights]:
    """Return what each film shows.

    Where nothing is seen of the end of a line, its way through the holes is a guess; it may even
    lead through holes in which others are seen. Such pixels aren't expected.
    """
    holes = wired.holes
    fits = [film.fitting(holes) for film in films]
    seen = sorted({n for own in fits for n in own})
    taken = np.zeros(len(holes), bool)
    taken[holes[seen]] = True
    free = (holes >= 0) & ~taken[holes]
    free[seen] = True
    out = []
    for film, own in zip(films, fits, strict=True):
        can = can_see(site, film)
        in_sight = (holes >= 0) & can[holes]
        out.append(Lights(film, holes, own, in_sight, in_sight & can & free))
    return out
