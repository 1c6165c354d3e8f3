"""Whether a film is of this house at all: a camera is found in films of others too."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from lumenmap.camera.evidence.evidence import NOISE
from lumenmap.camera.evidence.pose import FITS
from lumenmap.camera.evidence.sight import hidden_from
from lumenmap.camera.faults.lights import Lights
from lumenmap.site import Site

#: Of the pixels that a film tells apart, this part is where the house has them, however it is
#: wired [K]: 95 to 100 % in films of invented houses; 30 to 75 % in most films of other ones.
LIKE = 0.8
#: So many must be astray, or hidden: the neighbour's lights blink a number now and then.
ASTRAY = 12
#: No more of them may be behind the house than this part.
BEHIND = 0.5


def doubts(site: Site, films: Sequence[Lights]) -> Iterator[str]:
    """Yield why films may not be of this house, in sentences."""
    for film in films:
        evidence = film.evidence
        told = set(evidence.spots.number.tolist())
        there = film.fits.keys() | _near(film)
        hidden = int(hidden_from(site, evidence.shot.position)[film.holes[list(film.fits)]].sum())
        if len(told - there) >= ASTRAY and len(there) < LIKE * len(told):
            yield _doubt(
                f"only {len(there)} of the {len(told)} pixels that blink in {evidence.name} are "
                "where this house may have them"
            )
        elif hidden >= ASTRAY and hidden > BEHIND * len(film.fits):
            yield _doubt(
                f"{evidence.name} fits only a camera from which the house itself would hide "
                f"{hidden} of the {len(film.fits)} pixels that it shows"
            )


def _near(film: Lights) -> set[int]:
    """Return the pixels that are seen near their holes."""
    spots, seen = film.evidence.spots, film.evidence.seen
    own = film.holes[spots.number]
    off = np.linalg.norm(spots.place - seen.places[own], axis=1)
    return set(spots.number[(own >= 0) & seen.usable[own] & (off < FITS * NOISE)].tolist())


def _doubt(why: str) -> str:
    return (
        f"WARNING: {why}. Check that it is a film of this house and isn't mirrored, and check the "
        "house's measures. Don't rely on what it shows."
    )
