"""Reading the electrical tables: pixel kind, lines, supplies, feeds, buses."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.units import length
from lumenmap.house.choices import Unit
from lumenmap.house.electric import (
    BusTable,
    EnergyTable,
    FeedTable,
    LineTable,
    PixelTable,
    WiringTable,
)
from lumenmap.house.file import HouseFile
from lumenmap.house.model import Edge, Line
from lumenmap.house.path import UsedParts, read_path
from lumenmap.house.supplies import Bus, Feed, Supply, Usage, WireDefaults
from lumenmap.parts.kinds import PixelKind, pixel_kind

#: A supply whose voltage differs by more than this part from the pixels' is a mistake: from the
#: tolerance of pixels' data sheets, 4.5 to 5.5 V for 5 V parts [P], rounded up for long runs [C].
VOLTAGE_TOLERANCE = 0.2


def read_pixel(table: PixelTable) -> PixelKind:
    """Return the pixel kind, with the owner's figures in place of the table's.

    Raises
    ------
    InputError
        An unknown kind, or a figure that is out of range.
    """
    figures: dict[str, Any] = {
        "volts": table.volts,
        "min_volts": table.min_volts,
        "idle_ma": table.idle_ma,
        "bit_us": table.bit_us,
        "reset_us": table.reset_us,
        "pwm_hz": table.pwm_hz,
        "white_kelvin": table.white_kelvin,
        "white_intensity": table.white_intensity,
        **{
            name: tuple(given) if (given := getattr(table, name)) else None
            for name in ("channel_ma", "dominant_nm", "intensity")
        },
    }
    try:
        row = pixel_kind(table.kind)
    except InputError as error:
        raise error.at(key="pixel.kind") from None
    try:
        return pixel_kind(table.kind, order=_order(table.order, row, "pixel.order"), **figures)
    except InputError as error:
        key = f"pixel.{error.key}" if error.key in figures else error.key or "pixel"
        raise InputError(error.message, key=key) from None


def _order(order: str | None, kind: PixelKind, key: str) -> str:
    if order is None:
        return kind.order
    if sorted(order) != sorted(kind.order):
        raise InputError(
            f'is "{order[:20]}"; expected {"".join(sorted(kind.order, key="RGBW".index))} in '
            "the order of the data on the wire",
            key=key,
        )
    return order


def read_lines(
    tables: list[LineTable], kind: PixelKind, edges: dict[str, Edge], unit: Unit
) -> tuple[Line, ...]:
    """Return the data lines.

    Raises
    ------
    InputError
        A name used twice, or a mistake in a path or a channel order.
    """
    require_unique("line", (t.name for t in tables))
    used: UsedParts = {}
    return tuple(
        Line(
            t.name,
            read_path(t, edges, used, unit),
            t.universe,
            _order(t.order, kind, f'line "{t.name}", order'),
            tuple(t.cuts),
            t.pixels,
            tuple(t.dead),
        )
        for t in tables
    )


def read_supplies(table: HouseFile, kind: PixelKind) -> tuple[Supply, ...]:
    """Return the supplies.

    Raises
    ------
    InputError
        A name used twice, or a voltage that doesn't fit the pixels.
    """
    require_unique("supply", (t.name for t in table.supply))
    for t in table.supply:
        if abs(t.volts - kind.volts) > VOLTAGE_TOLERANCE * kind.volts:
            raise InputError(
                f"is {t.volts:g} V, but {kind.name} pixels take {kind.volts:g} V",
                key=f'supply "{t.name}", volts',
            )
    return tuple(Supply(t.name, t.volts, t.amps) for t in table.supply)


def read_feeds(table: HouseFile, lines: tuple[Line, ...]) -> tuple[Feed, ...]:
    """Return the feeds, each with a name.

    Raises
    ------
    InputError
        A name used twice, an unknown supply or line, or a position that makes no sense.
    """
    supplies = [t.name for t in table.supply]
    found = tuple(_feed(t, supplies, lines, table.house.unit) for t in table.feed)
    require_unique("feed", (f.name for f in found))
    return found


def _feed(t: FeedTable, supplies: list[str], lines: tuple[Line, ...], unit: Unit) -> Feed:
    key = f'feed "{t.name}"' if t.name else f'feed "{t.supply}" to "{t.to}"'
    if t.supply not in supplies:
        raise InputError(
            unknown("supply", t.supply, supplies, plural="Supplies"), key=f"{key}, supply"
        )
    _require_line(t.to, lines, f"{key}, to")
    _require_position(t.at, unit, f"{key}, at")
    name = t.name or f"{t.supply} to {t.to} {t.at}"
    return Feed(name, t.supply, t.to, t.at, t.wire, float(t.length), t.fuse)


def read_buses(tables: list[BusTable], lines: tuple[Line, ...], unit: Unit) -> tuple[Bus, ...]:
    """Return the buses, each with a name.

    Raises
    ------
    InputError
        A name used twice, an unknown line, or a position that makes no sense.
    """
    found = []
    for i, t in enumerate(tables):
        name = t.name or f"bus {i + 1}"
        key = f'bus "{name}"'
        _require_line(t.along, lines, f"{key}, along")
        _require_position(t.start, unit, f"{key}, start")
        _require_position(t.stop, unit, f"{key}, stop")
        every = float(t.tie_every) if t.tie_every is not None else None
        found.append(Bus(name, t.along, t.wire, t.start, t.stop, every))
    require_unique("bus", (b.name for b in found))
    return tuple(found)


def read_wire_defaults(table: WiringTable) -> WireDefaults:
    """Return what applies to all wire."""
    ohms = table.contact_milliohms / 1000
    return WireDefaults(table.string, table.ampacity, table.celsius, ohms)


def read_usage(table: EnergyTable) -> Usage:
    """Return how long the lights are on, and the price of energy."""
    return Usage(table.hours, table.evenings, table.price, table.efficiency)


def _require_line(name: str, lines: tuple[Line, ...], key: str) -> None:
    names = [x.name for x in lines]
    if name not in names:
        raise InputError(unknown("line", name, names), key=key)


def _require_position(text: str, unit: Unit, key: str) -> None:
    if text not in ("start", "middle", "end"):
        try:
            length(text, unit)
        except InputError:
            raise InputError(
                f'is "{text[:60]}"; expected start, middle, end or a length along the line',
                key=key,
            ) from None


def require_unique(what: str, names: Iterable[str]) -> None:
    """Refuse a name that is used twice.

    Raises
    ------
    InputError
        A name is used twice.
    """
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise InputError(
                f"another {what} has this name; each needs its own", key=f'{what} "{name}"'
            )
        seen.add(name)
