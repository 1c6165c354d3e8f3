"""What looks like a mistake but may be intended, and what is assumed: sentences, never errors."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction

import numpy as np

from lumenmap.core.lengths import show_about, show_length, show_written
from lumenmap.core.units import LENGTH
from lumenmap.core.wording import gathered, listed, sentence
from lumenmap.house.choices import RIGHT_UNIT, Unit
from lumenmap.house.masses.mass import Mass
from lumenmap.house.model import Edge
from lumenmap.house.rails import Rail
from lumenmap.house.reading.file import HouseFile
from lumenmap.house.reading.wiring import AMBIENT, STRING_WIRE
from lumenmap.house.supplies import StringMake
from lumenmap.parts.fuses import BLADE_VOLTS, OF_LABEL

#: The kind of thing, its name, and what is said of it.
Remark = tuple[str, str, str]
#: A tape and a model that differ by more than this part are reported: our choice.
DIFFERENCE = 0.01
#: An edge longer than this many times the longest side of its mass, or the perimeter of all
#: masses, is reported: feet taken for inches differ by 12, metres for feet by 3.3.
TOO_LONG = 1.5
#: Eaves that people reach with a ladder (m): lower or higher ones are reported.
LOW_EAVE, HIGH_EAVE = 1.5, 12.0
#: A floor higher than this (m) with only its own walls or posts under it is reported.
HIGH_FLOOR = 2.0
#: A hole spacing above a foot is reported (m): rails have holes 2 to 12 in apart, common practice,
#: no source. The same number in a smaller unit is offered if that is `LEAST_SPACING` or more.
MOST_SPACING, LEAST_SPACING = 0.305, 0.01
SMALLER_UNIT: dict[Unit, Unit] = {"ft": "in", "m": "cm"}


def plausibility_notes(
    masses: Iterable[Mass], edges: dict[str, Edge], rail: Rail, unit: Unit
) -> list[str]:
    """Return a sentence for each thing that looks like a mistake, with all places where it is."""
    masses = list(masses)
    asked = [f"rail: {text}" for text in _spacing(rail, unit)]
    found: list[Remark] = []
    for edge in edges.values():
        if edge.rail is not None and edge.rail.hole_spacing != rail.hole_spacing:
            found += (("edge", f'"{edge.name}"', text) for text in _spacing(edge.rail, unit))
    for m in masses:
        high = m.base + m.eave
        if m.foot > HIGH_FLOOR:
            says = f"a floor that high above the ground, and no mass under it; {RIGHT_UNIT}"
            found.append(("mass", f'"{m.name}" ({show_length(m.base, unit)})', says))
        elif not LOW_EAVE <= high <= HIGH_EAVE:
            name = f'"{m.name}" ({show_length(high, unit)})'
            found.append(("mass", name, f"an eave that high above the ground; {RIGHT_UNIT}"))
    longest = {m.name: max(m.width, m.depth) + 2 * max(m.overhang) for m in masses}
    perimeter = sum(2 * (m.width + m.depth) for m in masses)
    for edge in edges.values():
        if edge.measured is not None:
            found += _tape(edge, edge.measured, unit)
        owner = next((m.name for m in masses if edge.name.startswith(f"{m.name}/")), None)
        size = longest[owner] if owner else perimeter
        length = float(edge.measured or edge.length)
        if size and edge.mass is None and length > TOO_LONG * size:
            what = f'mass "{owner}"' if owner else "all masses together"
            says = f"much longer than {what}, {_size(masses, owner, unit)}; {RIGHT_UNIT}"
            found.append(("edge", f'"{edge.name}" ({show_length(length, unit)})', says))
        if len(edge.points) and float(np.min(edge.points[:, 2])) < -0.01:
            found.append(("edge", f'"{edge.name}"', "partly below the ground"))
    return [*asked, *gathered(found)]


def _spacing(rail: Rail, unit: Unit) -> list[str]:
    if rail.hole_spacing <= MOST_SPACING:
        return []
    number, small = rail.hole_spacing / LENGTH[unit], SMALLER_UNIT.get(unit, unit)
    likely = LEAST_SPACING <= number * LENGTH[small] <= MOST_SPACING
    ask = f'did you mean "{float(number):g} {small}"?' if likely else RIGHT_UNIT
    return [f"{show_written(rail.hole_spacing, unit)} between holes; {ask}"]


def _size(masses: list[Mass], owner: str | None, unit: Unit) -> str:
    chosen = [m for m in masses if owner in (None, m.name)]
    wide, deep = sum(m.width for m in chosen), sum(m.depth for m in chosen)
    return f"{show_length(wide, unit)} wide and {show_length(deep, unit)} deep"


def _tape(edge: Edge, measured: Fraction, unit: Unit) -> list[Remark]:
    part = float(measured) / edge.length - 1
    if abs(part) <= DIFFERENCE:
        return []
    figures = (
        f"{show_written(measured, unit)} on the tape, {show_length(edge.length, unit)} in the "
        f"model, {100 * abs(part):.1f} % {'longer' if part > 0 else 'shorter'}"
    )
    return [("edge", f'"{edge.name}" ({figures})', "the pixels follow the tape")]


def fuse_notes(table: HouseFile) -> list[str]:
    """Return which supplies give more volts than a blade fuse can interrupt."""
    fused = {f.supply for f in table.feed if f.fuse is not None}
    fused |= {t.supply for t in table.trunk if t.fuse is not None}
    says = (
        f"blade fuses are made for at most {BLADE_VOLTS:g} V d.c.; use fuses that are rated for "
        "such a supply"
    )
    return gathered(
        ("supply", f'"{s.name}" ({s.volts:g} V)', says)
        for s in table.supply
        if s.volts > BLADE_VOLTS and s.name in fused
    )


def assumptions(table: HouseFile, rail: Rail, string: StringMake) -> Iterator[str]:
    """Yield what is assumed of the wiring because the file leaves it out, and the key for it."""
    unit, own, wiring = table.house.unit, table.string, table.wiring
    if own.wire is None and wiring.string is None:
        yield f"The string's wire is assumed to be {STRING_WIRE}; write [string] wire."
    if own.spacing is None:
        yield (
            "The string's own wire is assumed to be as long from pixel to pixel as the holes are "
            f"apart, {show_written(rail.hole_spacing, unit)}; write [string] spacing."
        )
    if own.pixels is None:
        yield "No connectors are counted between strings; write [string] pixels."
    else:
        yield from _connectors(table, string)
    yield from _air(table)
    if "contact_milliohms" not in wiring.model_fields_set:
        yield (
            "Fuses and their holders are assumed to have no resistance; write [wiring] "
            "contact_milliohms."
        )
    yield from map(sentence, gathered([*_supplies(table), *_feeds(table)]))


def _supplies(table: HouseFile) -> Iterator[Remark]:
    """Yield what is assumed of the current that supplies give for hours."""
    part = f"{100 * OF_LABEL:g} %"
    for s in table.supply:
        if s.label_amps is None:
            yield (
                "supply",
                f'"{s.name}" ({s.amps:g} A)',
                "assumed to give this for hours; if it is what the label says, write label_amps "
                f"in place of amps, and {part} of it counts.",
            )
        elif s.amps is None:
            yield (
                "supply",
                f'"{s.name}" ({OF_LABEL * s.label_amps:g} A)',
                f"assumed to give this for hours, {part} of what the label says; write amps if "
                "the data sheet has another figure.",
            )


def _feeds(table: HouseFile) -> Iterator[Remark]:
    """Yield what is assumed of feeds that leave out their wire or length."""
    for i, feed in enumerate(table.feed, 1):
        missing = [key for key in ("wire", "length") if key not in feed.model_fields_set]
        if missing:
            parts = {"wire": f"of {feed.wire}", "length": "without length, and so without loss"}
            assumed = listed([parts[key] for key in missing])
            yield (
                "feed",
                f'{i} (to "{feed.to}")',
                f"assumed to be {assumed}; write {listed(missing)}.",
            )


def _connectors(table: HouseFile, string: StringMake) -> Iterator[str]:
    own = table.string
    if own.tail is None:
        yield (
            "A string's tails are assumed to be "
            f"{show_about(float(string.tail), table.house.unit)} long; write [string] tail."
        )
    if own.connector_milliohms is None:
        yield (
            "Each contact of a connector is assumed to have "
            f"{1000 * string.contact_ohms:g} milliohms; write [string] connector_milliohms."
        )
    if own.connector_amps is None:
        yield (
            "A connector is assumed to carry what the string's wire may; write [string] "
            "connector_amps."
        )


def _air(table: HouseFile) -> Iterator[str]:
    """Yield what is assumed of heat and of other wires in the same pipe."""
    given = table.wiring.model_fields_set
    if "ambient" not in given:
        yield (
            f"The air round the wires is assumed to be at most {AMBIENT:g} C "
            f"({AMBIENT * 9 / 5 + 32:g} F), as in a pipe in the sun; write [wiring] ambient."
        )
    if "insulation" not in given:
        yield (
            "The wires' insulation is assumed to be for 75 C; read what is printed on it, and "
            "write [wiring] insulation."
        )
    if "conductors" not in given:
        yield (
            "Two conductors that carry current are counted for a string, and two for each bus and "
            "trunk along it; if feeds lie in the same pipe, write [wiring] conductors."
        )
