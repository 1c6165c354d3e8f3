"""`Block`: what the diagram shows of one line, and where along its bar things join it.

Strategy: pixels are counted along the bar, so a string is as long as its number of pixels. The rows
under the bar run from the supply to the right and then up. Pairs that go less far come first, so
they don't cross those that go farther, unless two supplies feed one line by turns.
"""

from __future__ import annotations

from dataclasses import dataclass

from lumenmap.sheets.wires.data import DataLead, data_leads
from lumenmap.sheets.wires.leads import Cut, Lead, cuts, leads
from lumenmap.site import Site

#: Least room (mm) between two joints of a line, and for one with a fuse drawn in it.
NEAR, FUSED = 3.2, 11.0
#: So many taps or ties of one pair are drawn at one height, each with FUSED; more are drawn at two
#: heights by turns, each with CROWDED (mm).
ABREAST, CROWDED = 6, 6.2


@dataclass(frozen=True, slots=True)
class Row:
    """A pair that starts at the left, and the taps of a trunk or ties of a bus that leave it."""

    lead: Lead
    leaves: tuple[Lead, ...] = ()

    @property
    def crowded(self) -> bool:
        """Whether what leaves it is drawn at two heights."""
        return len(self.leaves) > ABREAST

    @property
    def near(self) -> float:
        """Room that each of its joints needs along the line (mm)."""
        if not any(leaf.fuse for leaf in self.leaves):
            return NEAR
        return CROWDED if self.crowded else FUSED


@dataclass(frozen=True, slots=True)
class Block:
    """A line with its rows, those of a bus first."""

    index: int
    line: str
    data: DataLead
    rows: tuple[Row, ...]
    cuts: tuple[Cut, ...]

    @property
    def joints(self) -> list[tuple[Lead, float]]:
        """Whatever connects to the line, in order along it, and the room that each needs (mm)."""
        found = [
            (lead, row.near) for row in self.rows for lead in (row.lead, *row.leaves) if lead.joins
        ]
        return sorted(found, key=lambda j: (j[0].place.wire, j[0].kind != "feed"))


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
