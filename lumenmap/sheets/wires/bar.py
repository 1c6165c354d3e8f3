"""`Bar`: where things are along the bar that stands for a line.

Strategy: pixels are counted along the bar, so a string is as long as its number of pixels, as far
as the joints leave room for their fuses. Joints, connectors and cuts keep the order in which they
lie on the wire: nothing is drawn on the wrong side of a cut.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from lumenmap.power.circuit.places import SAME_POSITION, Place
from lumenmap.sheets.wires.blocks import NEAR, Block
from lumenmap.site import Site

#: Room of a cut and of a connector (mm), and least distance of anything from the bar's ends.
CUT, PLUG, RIM = 5.0, NEAR, 0.8


@dataclass(frozen=True, slots=True)
class Landmark:
    """Something along the bar.

    ``wire`` m of string wire and ``pixels`` before it; its mark, empty for a connector alone; the
    room that it needs (mm); whether a connector is there.
    """

    wire: float
    pixels: float
    mark: str
    room: float
    plug: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Bar:
    """Places on the page (mm) of a line's joints and cuts by mark, and of connectors between."""

    marks: dict[str, float] = field(default_factory=dict)
    connectors: list[float] = field(default_factory=list)
    pixels: list[float] = field(default_factory=list)
    xs: list[float] = field(default_factory=list)

    def at(self, pixels: float) -> float:
        """Return the place (mm) that so many pixels lie before."""
        return float(np.interp(pixels, self.pixels, self.xs))


def lay(site: Site, block: Block, low: float, high: float) -> Bar:
    """Lay a line's joints, connectors and cuts along a bar from ``low`` to ``high`` (mm)."""
    found = landmarks(site, block)
    count = site.places[block.line].span.count
    wished = [(low + (high - low) * m.pixels / count, m.room) for m in found]
    rim = max(RIM, found[-1].room / 2) if found else RIM
    xs = spread(wished, low + RIM, high - rim)
    bar = Bar(pixels=[0.0], xs=[low])
    for mark, x in zip(found, xs, strict=True):
        if mark.mark:
            bar.marks[mark.mark] = x
        if mark.plug:
            bar.connectors.append(x)
        if bar.pixels[-1] < mark.pixels < count:
            bar.pixels.append(mark.pixels)
            bar.xs.append(x)
    bar.pixels.append(float(count))
    bar.xs.append(high)
    return bar


def landmarks(site: Site, block: Block) -> list[Landmark]:
    """Return what lies along a line's bar, in order along the wire."""
    own = site.places[block.line]
    plugs = {c.connector: c for c in own.connectors[1:-1]}
    found = []
    for lead, room in block.joints:
        plug = plugs.pop(lead.place.connector, None) is not None
        pixels = pixels_before(site, block.line, lead.place)
        found.append(Landmark(lead.place.wire, pixels, lead.mark, room, plug))
    found += [
        Landmark(c.wire, float(own.pixel_before(c.wire)), "", PLUG, True) for c in plugs.values()
    ]
    found += [Landmark(cut.wire, float(cut.pixel), cut.mark, CUT) for cut in block.cuts]
    return sorted(found, key=lambda m: m.wire)


def pixels_before(site: Site, line: str, place: Place) -> float:
    """Return how many pixels lie before a place; half a pixel less if it is at one."""
    own = site.places[line]
    before = own.pixel_before(place.wire)
    at = before and place.wire - own.wire[before - 1] <= SAME_POSITION
    return before - 0.5 if at else float(before)


def room_for(found: list[Landmark]) -> float:
    """Return the least length (mm) of a bar for these."""
    return sum(m.room for m in found) + RIM


def spread(wished: list[tuple[float, float]], low: float, high: float) -> list[float]:
    """Return places (mm) in order, near to their wishes, with room between neighbours.

    Parameters
    ----------
    wished
        Where each would like to be, in rising order, and the room that it needs, half of it on
        each side.
    low, high
        Where they may be.
    """
    rooms = [room for _, room in wished]
    found: list[float] = []
    for k, (x, room) in enumerate(wished):
        least = found[-1] + (room + rooms[k - 1]) / 2 if found else low
        found.append(max(x, least))
    ahead = high
    for k in range(len(found) - 1, -1, -1):
        found[k] = min(found[k], ahead)
        if k:
            ahead = found[k] - (rooms[k] + rooms[k - 1]) / 2
    return found
