"""Reading the electrical tables: pixel kind, lines, strings, and what applies to all wire."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from typing import Any

from lumenmap.core.errors import InputError, each
from lumenmap.core.lengths import show_written
from lumenmap.core.units import INCH
from lumenmap.house.choices import Unit
from lumenmap.house.masses.mass import Mass
from lumenmap.house.model import Edge, Line
from lumenmap.house.positions import position
from lumenmap.house.rails import Rail
from lumenmap.house.reading.electric import EnergyTable
from lumenmap.house.reading.file import HouseFile
from lumenmap.house.reading.path import UsedParts, read_path
from lumenmap.house.reading.strings import LineTable, PixelTable
from lumenmap.house.supplies import Acceptance, StringMake, Usage, WireDefaults
from lumenmap.parts.kind import PixelKind
from lumenmap.parts.kinds import pixel_kind

#: What is assumed of strings until the house file says: their wire, the tail of one that has
#: connectors, and each contact of those (milliohm): common practice, no source.
STRING_WIRE, TAIL, CONNECTOR = "18 AWG stranded", 6 * INCH, 10.0
#: The air in a pipe in the sun (°C): our choice, 10 °C above the air that ampacity tables assume.
AMBIENT = 40.0


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
    tables: list[LineTable],
    kind: PixelKind,
    edges: dict[str, Edge],
    masses: Sequence[Mass],
    unit: Unit,
) -> tuple[Line, ...]:
    """Return the data lines.

    Raises
    ------
    InputError
        A name used twice, or a mistake in a path or a channel order.
    """
    require_unique("line", (t.name for t in tables))
    used: UsedParts = {}

    def line(t: LineTable) -> Line:
        for cut in t.cuts:
            position(cut, unit, f'line "{t.name}", cuts', cut=True)
        path = read_path(t, edges, masses, used, unit)
        order = _order(t.order, kind, f'line "{t.name}", order')
        lead = None if t.lead is None else float(t.lead)
        return Line(t.name, path, t.universe, order, tuple(t.cuts), t.pixels, tuple(t.dead), lead)

    return each(line, tables)


def read_string(table: HouseFile) -> StringMake:
    """Return how the pixels are sold.

    Raises
    ------
    InputError
        A string whose own wire doesn't reach from hole to hole.
    """
    t = table.string
    known = t.pixels is not None
    tail = t.tail if t.tail is not None else (TAIL if known else Fraction(0))
    ohms = t.connector_milliohms if t.connector_milliohms is not None else known * CONNECTOR
    return StringMake(
        t.pixels,
        None if t.spacing is None else float(t.spacing),
        float(tail),
        ohms / 1000,
        t.connector_amps,
    )


def require_reach(string: StringMake, rail: Rail, edges: Iterable[Edge], unit: Unit) -> None:
    """Refuse a string whose pixels are closer together than the holes.

    Raises
    ------
    InputError
        Its own wire doesn't reach from hole to hole.
    """
    if string.spacing is None:
        return
    rails = [("the holes", rail), *((f'the holes of "{e.name}"', e.rail) for e in edges if e.rail)]
    for what, own in rails:
        if float(own.hole_spacing) > string.spacing + 1e-9:
            raise InputError(
                f"is {show_written(string.spacing, unit)}, but {what} are "
                f"{show_written(own.hole_spacing, unit)} apart: the string doesn't reach from hole "
                "to hole",
                key="string.spacing",
            )


def read_wire_defaults(table: HouseFile) -> WireDefaults:
    """Return what applies to all wire.

    Raises
    ------
    InputError
        The string's wire given twice; air as hot as the insulation may get.
    """
    t, own = table.wiring, table.string.wire
    if t.string and own and t.string != own:
        raise InputError(
            f'is "{t.string}", but [string] wire is "{own}"; leave one of them out',
            key="wiring.string",
        )
    ambient = AMBIENT if t.ambient is None else t.ambient
    found = WireDefaults(
        own or t.string or STRING_WIRE,
        t.ampacity,
        ambient if t.celsius is None else t.celsius,
        t.contact_milliohms / 1000,
        ambient,
        float(t.insulation),
        t.conductors,
        tuple(Acceptance(a.finding, a.of, a.reason) for a in t.accept),
    )
    found.derating()
    return found


def read_usage(table: EnergyTable) -> Usage:
    """Return how long the lights are on, and the price of energy."""
    return Usage(table.hours, table.evenings, table.price, table.efficiency)


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
