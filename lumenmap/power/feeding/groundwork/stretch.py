"""`Stretch`: pixels of a line on one supply, where they may be fed, and a quick model of them.

Strategy: a section of a line that is fed at one place is a tree, so its drop is a sum. Places are
measured in ohms of loop along the string, its connectors included; running sums of them give the
drop of any section in a few operations. The return wire runs on past a cut, which only helps; the
network solver has the last word.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.supplies import Supply
from lumenmap.parts.wires import wire as size_of
from lumenmap.power.circuit.places import SAME_POSITION, LinePlaces, Place
from lumenmap.power.feeding.groundwork.leads import Leads
from lumenmap.site import Site

F = NDArray[np.float64]

#: On a line whose connectors aren't known, as many places to feed at, evenly spread: our choice.
_PLACES = 24
#: Places for a cut in each string, evenly spread, and on a line at most: our choice.
_CUTS, _MOST_CUTS = 5, 90


@dataclass(frozen=True, slots=True)
class Joint:
    """A place to feed at.

    Attributes
    ----------
    text
        As a house file writes it.
    along
        m along the line.
    pixel
        The pixel, from 0, whose section it belongs to.
    ohms
        Of loop along the string from the line's start.
    plug
        Whether it is a connector.
    lead
        m of wire from the supply, one way.
    """

    text: str
    along: float
    pixel: int
    ohms: float
    plug: bool
    lead: float


@dataclass(frozen=True, slots=True, eq=False)
class Stretch:
    """Pixels ``first`` to ``last`` of a line, from 0, on one supply.

    ``ohms`` (N,) of loop from the line's start to each pixel of the line, and their running
    ``sums``; ``cuts`` are the pixels, from 0, that a section may begin with. ``known`` keeps what
    was worked out about sections.
    """

    line: str
    supply: Supply
    first: int
    last: int
    ohms: F
    sums: F
    joints: tuple[Joint, ...]
    cuts: tuple[int, ...]
    known: dict[object, tuple[float, ...]] = field(default_factory=dict, repr=False)

    def drop(self, first: int, last: int, joint: Joint) -> float:
        """Return the V that a section drops for each ampere of a pixel, fed at a joint."""
        before = int(np.searchsorted(self.ohms[first : last + 1], joint.ohms)) + first
        left = joint.ohms * (before - first) - (self.sums[before] - self.sums[first])
        right = self.sums[last + 1] - self.sums[before] - joint.ohms * (last + 1 - before)
        return float(max(left, right))

    def inside(self, first: int, last: int) -> list[Joint]:
        """Return the joints of a section."""
        return [j for j in self.joints if first <= j.pixel <= last]


def stretches(site: Site, anywhere: bool = False) -> tuple[Stretch, ...]:
    """Return every line, divided among the supplies that feed it now.

    Parameters
    ----------
    anywhere
        Whether feeds may be at any pixel, not at connectors only.
    """
    found = []
    leads = Leads(site)
    for name, places in site.places.items():
        for supply, first, last in _shared(site, name, places):
            own = next(s for s in site.house.supplies if s.name == supply)
            found.append(stretch(site, name, own, (first, last), leads, anywhere))
    return tuple(found)


def stretch(
    site: Site,
    line: str,
    supply: Supply,
    part: tuple[int, int],
    leads: Leads,
    anywhere: bool = False,
) -> Stretch:
    """Return pixels ``part`` (first, last) of a line as a stretch on a supply."""
    places = site.places[line]
    size = site.house.string.pixels
    count = places.span.count
    joints = [
        _joint(site, places, text, place, leads.metres(supply.name, line, place.along))
        for text, place in _candidates(places, size, anywhere)
    ]
    ohms = np.array([_ohms(site, places, wire) for wire in places.wire])
    step = max(1, (size or 50) // _CUTS, -(-count // _MOST_CUTS))
    edges = set(range(size or count, count, size or count))
    inner = sorted({*range(step, count, step), *edges})
    return Stretch(
        line,
        supply,
        *part,
        ohms,
        np.concatenate([[0.0], np.cumsum(ohms)]),
        tuple(j for j in joints if part[0] <= j.pixel <= part[1]),
        tuple(k for k in inner if part[0] < k <= part[1]),
    )


def _candidates(places: LinePlaces, size: int | None, anywhere: bool) -> list[tuple[str, Place]]:
    names = [f"connector {n}" for n in range(2, len(places.connectors))]
    found = list(zip(["start", *names, "end"], places.connectors, strict=True))
    count = places.span.count
    if anywhere or size is None:
        step = max(1, -(-count // _PLACES))
        texts = [f"pixel {number}" for number in range(1 + step // 2, count + 1, step)]
        found += [(text, places.place(text, "at")) for text in texts]
    return sorted(found, key=lambda row: row[1].wire)


def _joint(site: Site, places: LinePlaces, text: str, place: Place, lead: float) -> Joint:
    before, last = places.pixel_before(place.wire), places.span.count - 1
    at_pixel = before > 0 and place.wire - places.wire[before - 1] <= SAME_POSITION
    return Joint(
        text,
        place.along,
        int(min(max(before - at_pixel, 0), last)),
        _ohms(site, places, place.wire),
        place.connector is not None,
        lead,
    )


def _ohms(site: Site, places: LinePlaces, wire: float) -> float:
    """Return the ohms of loop from a line's start to so many m of string wire."""
    own, defaults = site.house.string, site.house.wire_defaults
    size = size_of(defaults.string)
    passed = sum(
        0.5 if abs(c.wire - wire) <= SAME_POSITION else 1.0
        for c in places.connectors[1:-1]
        if c.wire <= wire + SAME_POSITION
    )
    return 2 * (size.ohms(wire, defaults.celsius) + passed * own.contact_ohms)


def _shared(site: Site, name: str, places: LinePlaces) -> list[tuple[str, int, int]]:
    """Return (supply, first pixel, last pixel) of a line: as it is fed now, in order along it."""
    house, last = site.house, places.span.count - 1
    sources = [
        (places.place(f.at, f'feed "{f.name}", at').wire, f.supply)
        for f in house.feeds
        if f.line == name
    ]
    for trunk in (t for t in house.trunks if t.line == name):
        sources += [
            (places.place(t.at, f'tap "{t.name}", at').wire, trunk.supply)
            for t in site.wiring.taps
            if t.trunk == trunk.name
        ]
    sources.sort()
    given = next(x.cuts for x in house.lines if x.name == name)
    cuts = [places.cut(c, f'line "{name}", cuts') for c in given]
    found: list[tuple[str, int, int]] = []
    first, now = 0, sources[0][1] if sources else house.supplies[0].name
    for (low, _), (high, supply) in pairwise(sources):
        if supply == now:
            continue
        at = next((c for c in cuts if low < c <= high), (low + high) / 2)
        before = min(max(places.pixel_before(at), first + 1), last)
        found.append((now, first, before - 1))
        first, now = before, supply
    return [*found, (now, first, last)]
