"""The bill of materials, with spares, and with the prices that the owner gives."""

from __future__ import annotations

from collections.abc import Iterator

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.lengths import show_length
from lumenmap.drawing.document import Heading, Part, Table, Text
from lumenmap.house.model import House
from lumenmap.parts.wires import wire
from lumenmap.sheets.fuse_check import PowerCheck
from lumenmap.sheets.items import Item, rail_items
from lumenmap.sheets.rails.clips import clips_apart
from lumenmap.sheets.rails.rails import PlacedRail
from lumenmap.sheets.rails.stock import Bar
from lumenmap.sheets.wiring_items import wiring_items
from lumenmap.site import Site

#: What the plans of `lumenmap power --suggest` ask a price for, and a finished house doesn't need.
CONNECTOR = "connector"


def items(site: Site, placed: list[PlacedRail], bars: list[Bar], power: PowerCheck) -> list[Item]:
    """Return what to buy."""
    return [*rail_items(site, placed, bars), *wiring_items(site, power)]


def bill(house: House, bought: list[Item]) -> Iterator[Part]:
    """Yield the bill.

    Raises
    ------
    InputError
        A price of something that isn't on the bill.
    """
    prices, money = house.buying.prices, house.buying.money
    known = {i.price for i in bought} | {i.of for i in bought if i.of}
    for name in prices:
        if name not in known and name != CONNECTOR and not _is_wire(name):
            raise InputError(
                unknown("item", name, known), file=house.file, key=f"buying.prices.{name}"
            )
    yield Heading("What to buy")
    rows, total = [], 0.0
    for item in bought:
        price = _price(item, prices)
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
    widths = (0.5, 0.1, 0.08, 0.1, 0.11, 0.11)
    yield Table("what-to-buy", columns, tuple(rows), (1, 2, 3, 4, 5), widths, ticks=("have",))
    yield Text(_note(house, bought, total))


def _price(item: Item, prices: dict[str, float]) -> float | None:
    """Return the price of one, by that of what it holds if its own isn't given.

    A gauge stands for its stranded wire too, and the other way round.
    """
    name = item.price
    for own in (name, name.removesuffix(" stranded"), f"{name} stranded"):
        if own in prices:
            return prices[own]
    return item.holds * prices[item.of] if item.of in prices else None


def _is_wire(name: str) -> bool:
    """Return whether a price is of a wire, which another plan may take."""
    try:
        wire(name)
    except InputError:
        return False
    return True


def _note(house: House, bought: list[Item], total: float) -> str:
    prices = house.buying.prices
    text = f"Total of the items with a price: {house.buying.money(total)}. " if prices else ""
    missing = sorted({i.price for i in bought if _price(i, prices) is None})
    if missing:
        text += f"No price for: {', '.join(missing)}; give them in [buying] prices. "
    if house.string.pixels is not None:
        text += (
            "Each line begins with a new string; what is cut off its last one is left over. "
            "Strings bring the connectors between them. "
        )
    return text + (
        f"Spares: {100 * house.buying.spare:.0f} % of the pixels and fuses, of each rating one at "
        "least, so that a later repair matches in colour; and one of each small part that is "
        "easily spoilt. Clips: one at each end of every rail, and at "
        f"most {show_length(clips_apart(house.unit), house.unit)} between them, always between two "
        "holes. Clips, plugs, "
        "splices, glands and sealant are counted by common practice, without a source: follow the "
        "makers' instructions if they differ. Wire is counted as pairs, without mains wiring."
    )
