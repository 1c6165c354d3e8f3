"""Reading what feeds the lines: supplies, feeds, trunks with their taps, buses."""

from __future__ import annotations

from collections.abc import Callable

from lumenmap.core.errors import InputError, each, unknown
from lumenmap.house.choices import Unit
from lumenmap.house.model import Line
from lumenmap.house.positions import position
from lumenmap.house.reading.electric import BusTable, FeedTable, SupplyTable, TapTable, TrunkTable
from lumenmap.house.reading.file import HouseFile
from lumenmap.house.reading.wiring import require_unique
from lumenmap.house.supplies import Bus, Feed, Supply, Tap, Trunk
from lumenmap.parts.fuses import OF_LABEL


def read_supplies(table: HouseFile) -> tuple[Supply, ...]:
    """Return the supplies.

    Raises
    ------
    InputError
        A name used twice, or a supply without its current.
    """
    require_unique("supply", (t.name for t in table.supply))
    return each(_supply, table.supply)


def _supply(t: SupplyTable) -> Supply:
    key = f'supply "{t.name}"'
    if t.amps is None and t.label_amps is None:
        raise InputError(
            "needs amps, what it may give for hours, or label_amps, the current on its label, of "
            f"which {100 * OF_LABEL:g} % counts",
            key=key,
        )
    if t.amps is not None and t.label_amps is not None and t.amps > t.label_amps:
        raise InputError(
            f"is {t.amps:g} A, more than the {t.label_amps:g} A of its label", key=f"{key}, amps"
        )
    amps = t.amps if t.amps is not None else OF_LABEL * (t.label_amps or 0.0)
    return Supply(t.name, t.volts, amps, t.label_amps)


def read_feeds(table: HouseFile, lines: tuple[Line, ...]) -> tuple[Feed, ...]:
    """Return the feeds, each with a name.

    Raises
    ------
    InputError
        A name used twice, an unknown supply or line, or a position that makes no sense.
    """
    supplies = [t.name for t in table.supply]
    found = each(lambda t: _feed(t, supplies, lines, table.house.unit), table.feed)
    require_unique("feed", (f.name for f in found))
    return found


def _feed(t: FeedTable, supplies: list[str], lines: tuple[Line, ...], unit: Unit) -> Feed:
    key = f'feed "{t.name}"' if t.name else f'feed "{t.supply}" to "{t.to}"'
    _all(
        lambda: _require_supply(t.supply, supplies, f"{key}, supply"),
        lambda: _require_line(t.to, lines, f"{key}, to"),
        lambda: position(t.at, unit, f"{key}, at"),
    )
    name = t.name or f"{t.supply} to {t.to} {t.at}"
    return Feed(name, t.supply, t.to, t.at, t.wire, float(t.length), t.fuse)


def read_buses(tables: list[BusTable], lines: tuple[Line, ...], unit: Unit) -> tuple[Bus, ...]:
    """Return the buses, each with a name.

    Raises
    ------
    InputError
        A name used twice, an unknown line, or a position that makes no sense.
    """
    found = each(lambda numbered: _bus(*numbered, lines, unit), enumerate(tables))
    require_unique("bus", (b.name for b in found))
    return found


def _bus(i: int, t: BusTable, lines: tuple[Line, ...], unit: Unit) -> Bus:
    name = t.name or f"bus {i + 1}"
    key = f'bus "{name}"'
    _all(
        lambda: _require_stretch(t, lines, unit, key),
        lambda: each(lambda tie: position(tie, unit, f"{key}, ties"), t.ties),
    )
    if t.ties and t.tie_every is not None:
        raise InputError("has tie_every and ties; expected one of them", key=key)
    if len(t.ties) == 1:
        raise InputError(
            "is one place; a bus is tied at two or more, or it carries nothing",
            key=f"{key}, ties",
        )
    every = float(t.tie_every) if t.tie_every is not None else None
    return Bus(name, t.along, t.wire, t.start, t.stop, every, tuple(t.ties), t.tie_fuse)


def read_trunks(table: HouseFile, lines: tuple[Line, ...]) -> tuple[Trunk, ...]:
    """Return the trunks, each with a name.

    Raises
    ------
    InputError
        A name used twice, an unknown supply or line, a position that makes no sense, or no tap.
    """
    supplies, unit = [t.name for t in table.supply], table.house.unit
    tapped = {tap.trunk for tap in table.tap}
    found = each(
        lambda numbered: _trunk(*numbered, tapped, supplies, lines, unit), enumerate(table.trunk)
    )
    require_unique("trunk", (t.name for t in found))
    return found


def _trunk(
    i: int,
    t: TrunkTable,
    tapped: set[str],
    supplies: list[str],
    lines: tuple[Line, ...],
    unit: Unit,
) -> Trunk:
    name = t.name or f"trunk {i + 1}"
    key = f'trunk "{name}"'
    _all(
        lambda: _require_supply(t.supply, supplies, f"{key}, supply"),
        lambda: _require_stretch(t, lines, unit, key),
    )
    if name not in tapped:
        raise InputError("has no [[tap]], so it feeds nothing", key=key)
    return Trunk(name, t.supply, t.along, t.start, t.stop, t.wire, float(t.length), t.fuse)


def read_taps(tables: list[TapTable], trunks: tuple[Trunk, ...], unit: Unit) -> tuple[Tap, ...]:
    """Return the taps, each with a name.

    Raises
    ------
    InputError
        A name used twice, an unknown trunk, or a position that makes no sense.
    """
    names = [t.name for t in trunks]
    found = each(lambda t: _tap(t, names, unit), tables)
    require_unique("tap", (t.name for t in found))
    return found


def _tap(t: TapTable, trunks: list[str], unit: Unit) -> Tap:
    key = f'tap "{t.name}"' if t.name else f'tap from "{t.trunk}"'
    at = "" if t.at is None else t.at
    _all(
        lambda: _require_trunk(t.trunk, trunks, f"{key}, trunk"),
        lambda: position(at, unit, f"{key}, at") if at else None,
    )
    name = t.name or f"{t.trunk} tap at {at or 'the nearest connector'}"
    return Tap(name, t.trunk, at, t.wire, float(t.length), t.fuse)


def _all(*checks: Callable[[], object]) -> None:
    """Make several checks, and raise what they find together."""
    each(lambda check: check(), checks)


def _require_trunk(name: str, trunks: list[str], key: str) -> None:
    if name not in trunks:
        raise InputError(unknown("trunk", name, trunks), key=key)


def _require_supply(name: str, supplies: list[str], key: str) -> None:
    if name not in supplies:
        raise InputError(unknown("supply", name, supplies, plural="Supplies"), key=key)


def _require_stretch(
    t: BusTable | TrunkTable, lines: tuple[Line, ...], unit: Unit, key: str
) -> None:
    """Refuse what doesn't lie along a line from one place on it to another."""
    _all(
        lambda: _require_line(t.along, lines, f"{key}, along"),
        lambda: position(t.start, unit, f"{key}, start"),
        lambda: position(t.stop, unit, f"{key}, stop"),
    )


def _require_line(name: str, lines: tuple[Line, ...], key: str) -> None:
    names = [x.name for x in lines]
    if name not in names:
        raise InputError(unknown("line", name, names), key=key)
