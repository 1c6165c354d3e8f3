"""`Block`: what the diagram shows of one line, and where along its bar things join it.

Strategy: pixels are counted along the bar, so a string is as long as its number of pixels. The rows
under the bar run from the supply to the right and then up. Pairs that go less far come first, so
they don't cross those that go farther, unless two supplies feed one line by turns.
"""

from __future__ import annotations

from dataclasses import dataclass

from lumenmap.power.circuit.places import SAME_POSITION, Place
from lumenmap.sheets.wires.data import DataLead, data_leads
from lumenmap.sheets.wires.leads import Cut, Lead, cuts, leads
from lumenmap.site import Site

#: Least room (mm) between two joints of a line, and for one with a fuse drawn in it.
NEAR, FUSED = 3.2, 11.0


@dataclass(frozen=True, slots=True)
class Row:
    """A pair that starts at the left, and the taps of a trunk or ties of a bus that leave it."""

    lead: Lead
    leaves: tuple[Lead, ...] = ()


@dataclass(frozen=True, slots=True)
class Block:
    """A line with its rows, those of a bus first."""

    index: int
    line: str
    data: DataLead
    rows: tuple[Row, ...]
    cuts: tuple[Cut, ...]

    @property
    def joints(self) -> list[Lead]:
        """Whatever connects to the line, in order along it."""
        found = [r.lead for r in self.rows if r.lead.joins] + [
            x for r in self.rows for x in r.leaves
        ]
        return sorted(found, key=lambda lead: lead.place.wire)


def blocks(site: Site) -> list[Block]:
    """Return a block for each line, those of one supply next to each other.

    Raises
    ------
    InputError
        A place that isn't on its line.
    """
    order = {s.name: i for i, s in enumerate(site.house.supplies)}
    pairs, every = leads(site), cuts(site)
    found = []
    for i, (line, data) in enumerate(zip(site.house.lines, data_leads(site), strict=True)):
        own = [p for p in pairs if p.line == line.name]
        rows = [
            Row(p, tuple(x for x in own if x.source == p.name and x.kind in ("tap", "tie")))
            for p in own
            if p.kind in ("feed", "trunk", "bus")
        ]
        rows.sort(key=lambda row: _rank(row.lead, order))
        mine = tuple(c for c in every if c.line == line.name)
        found.append(Block(i, line.name, data, tuple(rows), mine))
    return sorted(
        found, key=lambda b: min((order.get(r.lead.source, 99) for r in b.rows), default=99)
    )


def _rank(lead: Lead, order: dict[str, int]) -> tuple[int, int, float]:
    """Return the place of a row: buses, then supply by supply, feeds before trunks."""
    if lead.kind == "bus":
        return -1, 0, lead.place.wire
    return order.get(lead.source, 99), int(lead.kind == "trunk"), lead.place.wire


def pixels_before(site: Site, line: str, place: Place) -> float:
    """Return how many pixels lie before a place; half a pixel more if it is at one."""
    own = site.places[line]
    before = own.pixel_before(place.wire)
    at = before and place.wire - own.wire[before - 1] <= SAME_POSITION
    return before - 0.5 if at else float(before)


def spread(wished: list[tuple[float, float]], low: float, high: float) -> list[float]:
    """Return places (mm) in order, each as near to its wish as the room between neighbours allows.

    Parameters
    ----------
    wished
        Where each would like to be, in rising order, and the room that it needs.
    low, high
        Where they may be.
    """
    found: list[float] = []
    for k, (x, room) in enumerate(wished):
        least = found[-1] + max(room, wished[k - 1][1]) if found else low
        found.append(max(x, least))
    ahead = high
    for k in range(len(found) - 1, -1, -1):
        found[k] = min(found[k], ahead)
        if k:
            ahead = found[k] - max(wished[k][1], wished[k - 1][1])
    return found
