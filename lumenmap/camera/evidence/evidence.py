"""`Evidence`: what one film says: its spots, its camera, and the holes as that camera sees them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.evidence.seen import Seen, seen_by
from lumenmap.camera.film.read import Filmed
from lumenmap.camera.film.spots import Spots
from lumenmap.camera.lens.found import Found, Search
from lumenmap.camera.lens.refine import refine
from lumenmap.camera.lens.shot import Shot
from lumenmap.pictures.scene.rails import lamp_places
from lumenmap.site import Site

Ints = NDArray[np.intp]

#: How exactly spots are found in a film (pixels), and rails hang (about 2 cm [C]), together.
NOISE = 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """What one film says of a house.

    Attributes
    ----------
    name
        By which people know the film.
    film
        What it shows.
    found
        Its camera.
    seen
        The holes as that camera sees them.
    """

    name: str
    film: Filmed
    found: Found
    seen: Seen

    @classmethod
    def of(cls, name: str, film: Filmed, found: Found, site: Site) -> Evidence:
        """Return what a film says with its camera."""
        lamps, _ = lamp_places(site)
        return cls(name, film, found, seen_by(found.shot, lamps, site.pixels))

    @property
    def spots(self) -> Spots:
        """The film's spots."""
        return self.film.spots

    @property
    def shot(self) -> Shot:
        """The film's camera."""
        return self.found.shot

    def refined(self, holes: Ints, site: Site) -> Evidence:
        """Return it with the camera that fits best if the pixels sit in ``holes`` (N,)."""
        lamps, _ = lamp_places(site)
        own = holes[self.spots.number]
        good = own >= 0
        found = refine(self.shot, lamps[own[good]], self.spots.place[good], search_of(self.film))
        return replace(self, found=found, seen=seen_by(found.shot, lamps, site.pixels))

    def fitting(self, holes: Ints) -> dict[int, int]:
        """Return the spot of each pixel that is seen in its hole; ``holes`` (N,)."""
        seen, spots = self.seen, self.spots
        best: dict[int, tuple[float, int]] = {}
        for i, n in enumerate(spots.number.tolist()):
            off = spots.place[i] - seen.places[holes[n]]
            u = float(off @ seen.along[holes[n]]) / float(seen.spacing[holes[n]])
            size = float(np.linalg.norm(off))
            if abs(u) < 1 and size < seen.across[holes[n]] and size < best.get(n, (np.inf, 0))[0]:
                best[n] = size, i
        return {n: i for n, (_, i) in best.items()}


def search_of(film: Filmed) -> Search:
    """Return how a film's camera is looked for."""
    return Search(film.size, noise=NOISE)
