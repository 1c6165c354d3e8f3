"""The bill of materials, with spares, and with the prices that the owner gives."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.units import INCH, LENGTH, show_length
from lumenmap.drawing.document import Heading, Part, Table, Text
from lumenmap.house.choices import Unit
from lumenmap.house.model import House
from lumenmap.sheets.fuse_check import PowerCheck
from lumenmap.sheets.rails.rails import PlacedRail
from lumenmap.sheets.rails.stock import Bar
from lumenmap.site import Site

#: The longest distance between clips (m); there is one at each end too. 2 to 3 ft for a drilled
#: rail in the sun is common practice, no source; this is round in either unit.
CLIPS_FEET, CLIPS_METRES = 30 * INCH, Fraction(3, 4)


@dataclass(frozen=True, slots=True)
class Item:
    """A line of the bill; ``price`` is its key in ``[buying] prices``."""

    name: str
    needed: float
    spare: float
    unit: str
    price: str

    @property
    def total(self) -> float:
        """The sum of needed and spare."""
        return self.needed + self.spare


def items(site: Site, placed: list[PlacedRail], bars: list[Bar], power: PowerCheck) -> list[Item]:
    """Return what to buy. Wire counts as pairs: 1 m is a metre of plus and one of minus."""
    house, pixels, line_layouts = site.house, site.pixels, site.line_layouts
    share = house.buying.spare
    long = "ft" if house.unit in ("ft", "in") else "m"
    per = float(LENGTH[long])
    apart = _apart(house.unit)
    found = [
        Item(f"rail, {show_length(house.rail.length, house.unit)}", len(bars), 0, "", "rail"),
        Item(
            f"rail clips, at most {show_length(apart, house.unit)} apart",
            sum(math.ceil(r.pattern.length / apart) + 1 for r in placed),
            0,
            "",
            "clip",
        ),
        Item(
            f"pixels, {house.kind.name}", len(pixels), math.ceil(share * len(pixels)), "", "pixel"
        ),
    ]
    jumpers = sum(run.jumper for layout in line_layouts for run in layout.runs)
    if jumpers:
        name = "jumper cable (plus, data, minus)"
        found.append(Item(name, math.ceil(jumpers / per), 0, long, "jumper"))
    pairs: dict[str, float] = {}
    for feed in house.feeds:
        pairs[feed.wire] = pairs.get(feed.wire, 0.0) + feed.length
    for bus in house.buses:
        ends = [site.places[bus.line].at(at, f'bus "{bus.name}"') for at in (bus.start, bus.stop)]
        pairs[bus.wire] = pairs.get(bus.wire, 0.0) + abs(ends[1] - ends[0])
    for wire, metres in pairs.items():
        if metres:
            found.append(Item(f"pair of {wire}", math.ceil(metres / per), 0, long, wire))
    too_large = {f.feed.name for f in power.unprotected}
    fuses = Counter(
        f"{f.fuse:g} A" + (" (TOO LARGE for the wire: see Power)" if f.name in too_large else "")
        for f in house.feeds
        if f.fuse
    )
    for name, count in fuses.items():
        found.append(Item(f"fuse {name}", count, max(1, math.ceil(share * count)), "", "fuse"))
    holders = sum(1 for f in house.feeds if f.fuse)
    if holders:
        found.append(Item("fuse holder", holders, 0, "", "holder"))
    found += [
        Item(f"supply {s.name}, {s.volts:g} V, {s.amps:g} A", 1, 0, "", s.name)
        for s in house.supplies
    ]
    return found


def _apart(unit: Unit) -> Fraction:
    """Return the longest distance between clips."""
    return CLIPS_FEET if unit in ("ft", "in") else CLIPS_METRES


def bill(house: House, bought: list[Item]) -> Iterator[Part]:
    """Yield the bill.

    Raises
    ------
    InputError
        A price of something that isn't on the bill.
    """
    prices, money = house.buying.prices, house.buying.money
    known = {i.price for i in bought}
    for name in prices:
        if name not in known:
            raise InputError(
                unknown("item", name, known), file=house.file, key=f"buying.prices.{name}"
            )
    yield Heading("What to buy")
    rows, total = [], 0.0
    for item in bought:
        price = prices.get(item.price)
        cost = price * item.total if price is not None else None
        total += cost or 0.0
        rows.append(
            (
                item.name,
                f"{item.needed:g} {item.unit}".strip(),
                f"{item.spare:g}" if item.spare else "",
                f"{item.total:g} {item.unit}".strip(),
                "" if price is None else money(price),
                "" if cost is None else money(cost),
            )
        )
    columns = ("item", "needed", "spare", "buy", "price each", "cost")
    yield Table("what-to-buy", columns, tuple(rows), right_aligned=(1, 2, 3, 4, 5))
    unpriced = [i.name for i in bought if i.price not in prices]
    text = f"Total of the items with a price: {money(total)}. " if prices else ""
    if unpriced:
        missing = ", ".join(sorted({i.price for i in bought if i.price not in prices}))
        text += f"No price for: {missing}; give them in [buying] prices. "
    text += (
        f"Spares: {house.buying.spare:.0%} of the pixels and fuses, so that a later repair matches "
        "in colour. Clips: one at each end of every rail, and at most "
        f"{show_length(_apart(house.unit), house.unit)} between them (common practice; follow "
        "the maker's instructions if they differ). Wire is counted as pairs, without mains wiring."
    )
    yield Text(text)
