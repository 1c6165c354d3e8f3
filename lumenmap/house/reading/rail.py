"""Reading how rails are drilled, in exact metres, and what the owner drills with."""

from __future__ import annotations

from fractions import Fraction

from lumenmap.core.errors import InputError
from lumenmap.core.lengths import show_length, show_written
from lumenmap.core.units import INCH
from lumenmap.house.choices import RIGHT_UNIT, Unit
from lumenmap.house.rails import Bench, Drill, Rail, ThermalRange
from lumenmap.house.reading.file import DrillTable, EdgeTable, RailTable
from lumenmap.parts.rails import SOLAR_GAIN, expansion, rail_material

#: Stock length where the file gives none: common practice, no source.
STOCK = {"ft": 120 * INCH, "in": 120 * INCH}
STOCK_METRIC = Fraction(3)
#: What only a machine's program needs.
MACHINE = ("travel", "depth", "retract", "feed")


def read_rail(table: RailTable, unit: Unit) -> tuple[Rail, ThermalRange | None]:
    """Return how rails are drilled, and the temperatures at which they expand.

    Raises
    ------
    InputError
        Neither or both of a spacing and a count, or a spacing that doesn't fit a stock rail.
    """
    stock = table.length or STOCK.get(unit, STOCK_METRIC)
    if (table.hole_spacing is None) == (table.pixels is None):
        raise InputError(
            "expected either hole_spacing, or pixels: the number of holes in a stock rail",
            key="rail",
        )
    first = table.first_hole
    if table.hole_spacing is not None:
        spacing = table.hole_spacing
        first = spacing / 2 if first is None else first
    else:
        spacing, first = _evenly(stock, table.pixels or 1, first)
    thermal = _thermal_range(table)
    rail = Rail(
        stock,
        spacing,
        first,
        table.remainder,
        table.corner_clear,
        table.corner_clear,
        table.gap if table.gap is not None else _gap(thermal, stock),
        table.kerf,
    )
    return checked(rail, unit, "rail"), thermal


def _evenly(stock: Fraction, pixels: int, first: Fraction | None) -> tuple[Fraction, Fraction]:
    """Return the spacing and first hole of a number of holes spread evenly over a stock rail."""
    if first is None:
        return stock / pixels, stock / pixels / 2
    if pixels < 2 or 2 * first >= stock:
        raise InputError(
            "expected two holes or more, with first_hole less than half the length",
            key="rail.pixels",
        )
    return (stock - 2 * first) / (pixels - 1), first


def checked(rail: Rail, unit: Unit, key: str) -> Rail:
    """Return the rail if it can be drilled.

    Raises
    ------
    InputError
        It has no room for a hole.
    """
    if rail.hole_spacing > rail.length:
        raise InputError(
            f"holes {show_written(rail.hole_spacing, unit)} apart don't fit a stock rail of "
            f"{show_written(rail.length, unit)}; {RIGHT_UNIT}",
            key=f"{key}.hole_spacing",
        )
    if rail.first_hole > rail.hole_spacing:
        raise InputError(
            f"is {show_written(rail.first_hole, unit)}; expected at most the hole spacing, "
            f"{show_written(rail.hole_spacing, unit)}",
            key=f"{key}.first_hole",
        )
    behind = rail.hole_spacing - rail.first_hole
    if rail.gap and rail.gap >= behind:
        raise InputError(
            f"a gap of {show_written(rail.gap, unit)} at joints of rails of "
            f"{show_written(rail.length, unit)} leaves no rail behind the last hole, which is "
            f"{show_length(behind, unit)} before the next rail; use shorter rails, wider spacing "
            "or a smaller first_hole",
            key=f"{key}.gap",
        )
    return rail


def edge_rail(table: EdgeTable, common: Rail, unit: Unit) -> Rail | None:
    """Return how one edge's rails are drilled, or None if like the rest of the house.

    Raises
    ------
    InputError
        It has no room for a hole.
    """
    keys = {"hole_spacing", "first_hole", "remainder", "clear_start", "clear_end"}
    given = {n: v for n in keys if (v := getattr(table, n)) is not None}
    if not given:
        return None
    spacing = given.get("hole_spacing", common.hole_spacing)
    first = given.get("first_hole", spacing / 2 if "hole_spacing" in given else common.first_hole)
    rail = Rail(
        common.length,
        spacing,
        first,
        given.get("remainder", common.remainder),
        given.get("clear_start", common.clear_start),
        given.get("clear_end", common.clear_end),
        common.gap,
        common.kerf,
    )
    return checked(rail, unit, f'edge "{table.name}"')


def _thermal_range(table: RailTable) -> ThermalRange | None:
    temperatures = (table.coldest, table.warmest, table.fitted_at)
    if table.material is None:
        if any(t is not None for t in temperatures):
            raise InputError(
                'is missing; temperatures need a material, such as "pvc pipe"',
                key="rail.material",
            )
        return None
    try:
        name = rail_material(table.material).name
    except InputError as error:
        raise error.at(key="rail.material") from None
    if table.coldest is None or table.warmest is None:
        raise InputError("a material needs coldest and warmest too", key="rail")
    gain = SOLAR_GAIN if table.in_sun else 0.0
    warmest = table.warmest + gain
    if table.coldest >= warmest:
        raise InputError("isn't colder than warmest", key="rail.coldest")
    fitted = table.fitted_at if table.fitted_at is not None else table.coldest
    return ThermalRange(name, table.coldest, warmest, fitted, gain)


def _gap(thermal: ThermalRange | None, stock: Fraction) -> Fraction:
    """Return the gap to leave at a joint: rails then just touch at the warmest.

    Rounded up to 1/10 mm, finer than anyone sets a gap.
    """
    if thermal is None:
        return Fraction(0)
    grows = expansion(
        rail_material(thermal.material), float(stock), thermal.fitted_at, thermal.warmest
    )
    return max(Fraction(0), Fraction(-int(-grows * 10_000 // 1), 10_000))


def read_bench(table: DrillTable | None, unit: Unit) -> Bench:
    """Return the owner's tape and bit; the usual tape of the house's unit if none is given."""
    usual = Bench("1/16 in" if unit in ("ft", "in") else "1 mm")
    if table is None:
        return usual
    return Bench(table.tape or usual.tape, table.bit)


def read_drill(table: DrillTable | None) -> Drill | None:
    """Return the drilling machine, or None if there is none.

    Raises
    ------
    InputError
        Some of a machine's figures, but not all.
    """
    if table is None:
        return None
    given = [n for n in MACHINE if getattr(table, n) is not None]
    if table.spindle is not None:
        given.append("spindle")
    if not given:
        return None
    d = table
    if not (d.travel and d.bit and d.depth and d.retract and d.feed):
        missing = [n for n in ("travel", "bit", *MACHINE[1:]) if getattr(table, n) is None]
        raise InputError(
            f"gives {' and '.join(given)}, so a machine's program, which needs "
            f"{' and '.join(missing)} too; for drilling by hand leave out {' and '.join(given)}",
            key="drill",
        )
    return Drill(d.units, d.travel, d.bit, d.depth, d.retract, d.feed, d.spindle)
