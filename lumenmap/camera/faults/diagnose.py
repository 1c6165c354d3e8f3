"""`diagnose`: films against the map: faults in the order of what to mend first."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.evidence.evidence import Evidence
from lumenmap.camera.faults.colours import colour_faults
from lumenmap.camera.faults.contradictions import contradictions, hidden
from lumenmap.camera.faults.dark import dark_faults
from lumenmap.camera.faults.explain import explain
from lumenmap.camera.faults.fault import Fault
from lumenmap.camera.faults.lights import lights_of
from lumenmap.camera.faults.likeness import doubts
from lumenmap.camera.faults.wired import Wired
from lumenmap.camera.faults.wiring import wiring_faults
from lumenmap.camera.film.read import Filmed
from lumenmap.site import Site

B = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Diagnosis:
    """What V films say of a house.

    Attributes
    ----------
    films
        What each film says, with its camera.
    wired
        The wiring that explains them.
    faults
        What is wired otherwise than mapped.
    seen
        (V, N) which pixels each film shows in their holes.
    visible
        (V, N) which pixels each camera could see.
    unseen
        The pixels of the house that no film shows.
    contradictions
        What the films say against each other, in sentences.
    hidden
        Pixels that look dark in a film, though another shows them lit, in sentences.
    left_out
        Films that say nothing of this house, and why.
    doubts
        Why films may be of another house, in sentences.
    """

    films: tuple[Evidence, ...]
    wired: Wired
    faults: tuple[Fault, ...]
    seen: B
    visible: B
    unseen: tuple[int, ...]
    contradictions: tuple[str, ...] = ()
    hidden: tuple[str, ...] = ()
    left_out: tuple[tuple[str, str], ...] = ()
    doubts: tuple[str, ...] = ()

    @property
    def right(self) -> bool:
        """Whether all that was seen is as the map has it, by all films."""
        return not self.faults and not self.contradictions and not self.doubts


def diagnose(site: Site, films: Mapping[str, Filmed]) -> Diagnosis:
    """Compare films, by their names, with the map.

    Raises
    ------
    InputError
        Too little was seen in any to find its camera.
    """
    found = explain(site, films)
    evidence, wired = found.evidence, found.wired
    lights = lights_of(site, evidence, wired)
    wiring = wiring_faults(site, evidence, wired)
    exchanged = {name for fault in wiring if fault.kind == "swapped" for name in fault.lines}
    faults = [
        *wiring,
        *(f for f in dark_faults(site, lights) if not exchanged & set(f.lines)),
        *colour_faults(site, evidence, wired),
    ]
    seen = np.zeros((len(evidence), len(site.pixels)), bool)
    for own, film in zip(seen, lights, strict=True):
        # A neighbour's lights may blink a number now and then: such a pixel wasn't seen.
        own[list(film.fits)] = True
    against = tuple(contradictions(site, lights, wired))
    unseen = np.flatnonzero(site.pixels.lit & ~seen.any(0))
    known = {n for fault in faults if fault.kind in ("dark", "stops") for n in fault.pixels}
    return Diagnosis(
        evidence,
        wired,
        tuple(faults),
        seen,
        np.stack([film.in_sight for film in lights]),
        tuple(int(n) for n in unseen if n not in known),
        against,
        tuple(hidden(site, lights)),
        tuple((name, error.message) for name, error in found.left_out.items()),
        # A film of a line that was rewired in between isn't like the house either.
        () if against else tuple(doubts(site, lights)),
    )
