"""The electrical tables, to the model: pixel kind, lines, supplies, feeds, buses."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.units import length
from lumenmap.house.electric import BusTable, FeedTable, LineTable, PixelTable
from lumenmap.house.file import HouseFile
from lumenmap.house.model import Edge, Line
from lumenmap.house.path import Used, path
from lumenmap.house.supplies import Bus, Feed, Habits, Supply, Wiring
from lumenmap.parts.kinds import PixelKind, pixel_kind

#: A supply further than this from the pixels' own volts is a mistake: from the tolerance of
#: pixels' data sheets, 4.5 to 5.5 V for 5 V parts [P], rounded up for long runs [C].
VOLTS_OFF = 0.2


def pixel(table: PixelTable) -> PixelKind:
    """Return the pixel kind with the owner's figures in it."""
    figures: dict[str, Any] = {
        "volts": table.volts,
        "min_volts": table.min_volts,
        "idle_ma": table.idle_ma,
        "bit_us": table.bit_us,
        "reset_us": table.reset_us,
        "pwm_hz": table.pwm_hz,
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
            f'is "{order[:20]}"; wanted the letters {"".join(sorted(kind.order, key="RGBW".index))}'
            " once each, in the order the wire carries them",
            key=key,
        )
    return order


def lines(
    tables: list[LineTable], kind: PixelKind, edges: dict[str, Edge], unit: str
) -> tuple[Line, ...]:
    """Return the data lines."""
    once("line", (t.name for t in tables))
    used: Used = {}
    return tuple(
        Line(
            t.name,
            path(t, edges, used, unit),
            t.universe,
            _order(t.order, kind, f'line "{t.name}", order'),
            tuple(t.cuts),
            t.pixels,
            tuple(t.dead),
        )
        for t in tables
    )


def supplies(table: HouseFile, kind: PixelKind) -> tuple[Supply, ...]:
    """Return the supplies.

    Raises
    ------
    InputError
        One gives volts that would not light the pixels, or would burn them.
    """
    once("supply", (t.name for t in table.supply))
    for t in table.supply:
        if abs(t.volts - kind.volts) > VOLTS_OFF * kind.volts:
            raise InputError(
                f"gives {t.volts:g} V, but {kind.name} pixels want {kind.volts:g} V",
                key=f'supply "{t.name}", volts',
            )
    return tuple(Supply(t.name, t.volts, t.amps) for t in table.supply)


def feeds(table: HouseFile, made: tuple[Line, ...]) -> tuple[Feed, ...]:
    """Return the feeds, each with a name."""
    names = [t.name for t in table.supply]
    out = tuple(_feed(t, names, made, table.house.unit) for t in table.feed)
    once("feed", (f.name for f in out))
    return out


def _feed(t: FeedTable, names: list[str], made: tuple[Line, ...], unit: str) -> Feed:
    key = f'feed "{t.name}"' if t.name else f'feed "{t.supply}" to "{t.to}"'
    if t.supply not in names:
        raise InputError(
            unknown("supply", t.supply, names, plural="Supplies"), key=f"{key}, supply"
        )
    _line(t.to, made, f"{key}, to")
    _spot(t.at, unit, f"{key}, at")
    name = t.name or f"{t.supply} to {t.to} {t.at}"
    return Feed(name, t.supply, t.to, t.at, t.wire, float(t.length), t.fuse)


def buses(tables: list[BusTable], made: tuple[Line, ...], unit: str) -> tuple[Bus, ...]:
    """Return the buses, each with a name."""
    out = []
    for i, t in enumerate(tables):
        name = t.name or f"bus {i + 1}"
        key = f'bus "{name}"'
        _line(t.along, made, f"{key}, along")
        _spot(t.start, unit, f"{key}, start")
        _spot(t.stop, unit, f"{key}, stop")
        every = float(t.tie_every) if t.tie_every is not None else None
        out.append(Bus(name, t.along, t.wire, t.start, t.stop, every))
    once("bus", (b.name for b in out))
    return tuple(out)


def wiring(table: HouseFile) -> tuple[Wiring, Habits]:
    """Return what holds for all wire, and how long the lights burn."""
    w, e = table.wiring, table.energy
    return (
        Wiring(w.string, w.ampacity, w.celsius, w.contact_milliohms / 1000),
        Habits(e.hours, e.evenings, e.price, e.efficiency),
    )


def _line(name: str, made: tuple[Line, ...], key: str) -> None:
    names = [x.name for x in made]
    if name not in names:
        raise InputError(unknown("line", name, names), key=key)


def _spot(text: str, unit: str, key: str) -> None:
    if text not in ("start", "middle", "end"):
        try:
            length(text, unit)
        except InputError:
            raise InputError(
                f'is "{text[:60]}"; wanted start, middle, end or a length along the line', key=key
            ) from None


def once(what: str, names: Iterable[str]) -> None:
    """Hold that each name is used once.

    Raises
    ------
    InputError
        One is used twice.
    """
    seen: set[str] = set()
    for name in names:
        if name in seen:
            raise InputError(
                f"there are two of this name; each {what} needs its own", key=f'{what} "{name}"'
            )
        seen.add(name)
