"""The cut list and the hanging sheet."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from lumenmap.core.lengths import show_fine, show_length, show_written
from lumenmap.core.units import INCH
from lumenmap.core.wording import some
from lumenmap.drawing.document import Heading, Part, Table, Text
from lumenmap.house.choices import Unit
from lumenmap.house.model import House
from lumenmap.parts.cautions import BENCH, ladder
from lumenmap.parts.rails import MAX_EXPANSION, expansion, rail_material
from lumenmap.pixels.line_layout import LineLayout
from lumenmap.sheets.rails.families import by_letter
from lumenmap.sheets.rails.rails import Pattern, PlacedRail
from lumenmap.sheets.rails.reach import Reach
from lumenmap.sheets.rails.stock import Bar, fewest


def decimal(place: Fraction, unit: Unit) -> str:
    """Format a length in decimal inches or millimetres, as a digital rule shows it."""
    if unit in ("ft", "in"):
        return f"{round(float(place / INCH), 3):g} in"
    return f"{round(float(place * 1000), 1):g} mm"


def numbers(rails: list[PlacedRail]) -> str:
    """List the numbers of rails, with ranges: ``1-3, 7``."""
    runs: list[list[int]] = []
    for n in sorted(r.number for r in rails):
        if runs and n == runs[-1][1] + 1:
            runs[-1][1] = n
        else:
            runs.append([n, n])
    return ", ".join(str(a) if a == b else f"{a}-{b}" for a, b in runs)


def cut_list(house: House, placed: list[PlacedRail], bars: list[Bar]) -> Iterator[Part]:
    """Yield what to cut, from which stock lengths, and what is left over."""
    unit = house.unit
    yield Heading("Cut list")
    yield Text(BENCH, caution=True)
    yield Text(
        f"{some(len(placed), 'rail')} of {some(len(by_letter(placed)), 'kind')}. Rails of the "
        "same letter are identical. Mark each with its letter and number, and its datum end with "
        "an arrow, before you drill it."
    )
    rows = []
    for kind, rails in by_letter(placed).items():
        p: Pattern = rails[0].pattern
        rows.append(
            (
                kind,
                str(len(rails)),
                show_length(p.length, unit),
                decimal(p.length, unit),
                str(p.count),
                numbers(rails),
            )
        )
    yield Table(
        "cut-list",
        ("rail kind", "how many", "cut to", "exact length", "holes", "rail numbers"),
        tuple(rows),
        right_aligned=(1, 4),
    )
    yield Heading("From stock", new_page=False)
    waste = sum((b.left for b in bars), Fraction(0))
    total = sum((b.length for b in bars), Fraction(0))
    least = fewest(placed, house.rail.length, house.rail.kerf)
    yield Text(
        f"{len(bars)} lengths of {show_written(house.rail.length, unit)}: {len(bars)} is the "
        + ("fewest" if least == len(bars) else f"best found, {least} the fewest there could be")
        + f"; {show_length(waste, unit)} or {100 * (float(waste / total)):.0f} % left over"
        + (
            f", with {show_written(house.rail.kerf, unit)} for each saw cut."
            if house.rail.kerf
            else ". Saw cuts aren't counted: give kerf in [rail]."
        )
    )
    yield Table(
        "stock",
        ("stock", "cut in this order", "left over"),
        tuple(
            (
                str(i),
                ", ".join(
                    f"{r.kind}{r.number} {show_length(r.pattern.length, unit)}" for r in bar.rails
                ),
                show_length(bar.left, unit),
            )
            for i, bar in enumerate(bars, 1)
        ),
        right_aligned=(0,),
        widths=(0.1, 0.7, 0.2),
    )


def hanging(
    house: House, placed: list[PlacedRail], line_layouts: list[LineLayout]
) -> Iterator[Part]:
    """Yield where each rail hangs, what stays bare, and how much the rails expand."""
    unit = house.unit
    yield Heading("Hanging")
    yield Text(ladder(unit), caution=True)
    yield Text(
        "Edges of a roof start at their left end, seen from outside; ridges at the front or the "
        "left; hips, valleys and posts at the bottom; edges by points at the first point. Hang "
        "every rail with its datum end towards the start of its edge."
    )
    layouts = line_layouts[0].edge_layouts
    reach = {name: Reach(layout, house) for name, layout in layouts.items()}
    starts = {r.number: reach[r.edge].place(r.start, r, unit) for r in placed}
    if any(" from " in said or " inside " in said for said in starts.values()):
        yield Text(
            "Where an edge comes out of another roof or wall, its rails are measured from there. "
            "If a datum end would be inside, drill the rail first, then saw that much off."
        )
    rows = tuple(
        (
            str(r.number),
            r.kind,
            r.edge,
            starts[r.number],
            reach[r.edge].place(r.start + r.pattern.length, r, unit),
            f"{r.line} {r.first} to {r.last}",
        )
        for r in placed
    )
    yield Table(
        "hanging",
        ("rail", "rail kind", "edge", "datum end at", "far end at", "pixels"),
        rows,
        right_aligned=(0,),
        ticks=("cut", "drilled", "hung"),
    )
    bare = []
    for name, own in reach.items():
        here = [r for r in placed if r.edge == name]
        ends = ("all of it", "all of it")
        if here:
            stop = here[-1].start + here[-1].pattern.length
            ends = (own.place(here[0].start, here[0], unit), own.bare_end(stop, unit))
        lit = sum(r.pattern.count for r in here)
        bare.append((name, show_length(own.high - own.low, unit), str(lit), *ends))
    yield from _expansion(house, placed)
    yield Heading("Bare ends", new_page=False)
    yield Table(
        "bare-ends",
        ("edge", "edge length", "holes", "bare at its start", "bare at its end"),
        tuple(bare),
        right_aligned=(2,),
    )


def _expansion(house: House, placed: list[PlacedRail]) -> Iterator[Part]:
    gap = house.rail.gap
    yield Heading("Thermal expansion", new_page=False)
    if house.thermal is None:
        yield Text(
            f"Gap at joints: {show_fine(gap, house.unit)}. Plastic rails expand in the heat: give "
            "material, coldest and warmest in [rail], and the gap is calculated."
        )
        return
    unit, w = house.unit, house.thermal
    material = rail_material(w.material)
    cold, warm, fitted = (_degrees(t, unit) for t in (w.coldest, w.warmest, w.fitted_at))
    longest = max((r.pattern.length for r in placed), default=house.rail.length)
    expands = expansion(material, float(longest), w.coldest, w.warmest)
    text = (
        f"Leave {show_fine(gap, unit)} at each joint: rails of {material.name} hung at {fitted} "
        f"then just touch at {warm}{_sun(w.sun, unit)}. From {cold} to {warm} the longest rail, "
        f"{show_length(longest, unit)}, expands by {show_fine(expands, unit)}. Fix each "
        f"rail at one point and let it slide at the others. Source: {material.source}."
    )
    if expands > MAX_EXPANSION:
        text += (
            " That is more than 1/4 in, above which electrical codes require expansion fittings "
            "in conduit: don't glue rails together."
        )
    yield Text(text)


def _sun(gain: float, unit: Unit) -> str:
    """Say why the warmest is more than the house file's: rails in the sun are warmer than air."""
    if not gain:
        return ""
    more = f"{gain * 1.8:.0f} °F" if unit in ("ft", "in") else f"{gain:.0f} °C"
    return f", which is {more} above the warmest air, as makers of conduit advise for the sun"


def _degrees(celsius: float, unit: Unit) -> str:
    """Format a temperature in °F for a house in feet or inches, otherwise in °C."""
    return f"{celsius * 1.8 + 32:.0f} °F" if unit in ("ft", "in") else f"{celsius:.0f} °C"
