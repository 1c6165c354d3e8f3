"""How rails are drilled: the file's words, to exact metres."""

from __future__ import annotations

from fractions import Fraction

from lumenmap.core.errors import InputError
from lumenmap.core.units import INCH, show_length
from lumenmap.house.file import EdgeTable, RailTable
from lumenmap.house.model import Rail, Warmth
from lumenmap.parts.rails import SOLAR_GAIN, expansion, rail_material

#: Stock length where the file does not say: common practice, no source.
STOCK = {"ft": 120 * INCH, "in": 120 * INCH}
STOCK_METRIC = Fraction(3)


def rail(table: RailTable, unit: str) -> tuple[Rail, Warmth | None]:
    """Return how rails are drilled, and what they grow by.

    Raises
    ------
    InputError
        Neither or both of a spacing and a count, or a spacing that no stock rail can hold.
    """
    stock = table.length or STOCK.get(unit, STOCK_METRIC)
    if (table.hole_spacing is None) == (table.pixels is None):
        raise InputError(
            "wanted either hole_spacing, or pixels for holes in a stock rail", key="rail"
        )
    first = table.first_hole
    if table.hole_spacing is not None:
        spacing = table.hole_spacing
        first = spacing / 2 if first is None else first
    else:
        spacing, first = _spread(stock, table.pixels or 1, first)
    warmth = _warmth(table)
    made = Rail(
        stock,
        spacing,
        first,
        table.remainder,
        table.corner_clear,
        table.corner_clear,
        table.gap if table.gap is not None else _gap(warmth, stock),
        table.kerf,
    )
    return possible(made, unit, "rail"), warmth


def _spread(stock: Fraction, pixels: int, first: Fraction | None) -> tuple[Fraction, Fraction]:
    """Space a number of holes over a stock rail; ``first`` from either end, or half a spacing."""
    if first is None:
        return stock / pixels, stock / pixels / 2
    if pixels < 2 or 2 * first >= stock:
        raise InputError(
            "two holes or more are wanted between the first holes at either end", key="rail.pixels"
        )
    return (stock - 2 * first) / (pixels - 1), first


def possible(made: Rail, unit: str, key: str) -> Rail:
    """Return the rail if it can be drilled.

    Raises
    ------
    InputError
        It has no room for a hole.
    """
    if made.hole_spacing > made.length:
        raise InputError(
            f"holes {show_length(made.hole_spacing, unit)} apart don't fit a stock rail of "
            f"{show_length(made.length, unit)}; is that the unit you meant?",
            key=f"{key}.hole_spacing",
        )
    if made.first_hole > made.hole_spacing:
        raise InputError(
            f"the first hole, {show_length(made.first_hole, unit)} in, is further from the "
            f"rail's end than the next hole is from it ({show_length(made.hole_spacing, unit)})",
            key=f"{key}.first_hole",
        )
    if made.gap >= made.hole_spacing / 2:
        raise InputError(
            f"a gap of {show_length(made.gap, unit)} at joints leaves no rail between the holes "
            "beside it; use shorter rails or wider spacing",
            key=f"{key}.gap",
        )
    return made


def own_rail(table: EdgeTable, common: Rail, unit: str) -> Rail | None:
    """Return how one edge's rails differ from the house's, or None."""
    asked = {"hole_spacing", "first_hole", "remainder", "clear_start", "clear_end"}
    given = {n: v for n in asked if (v := getattr(table, n)) is not None}
    if not given:
        return None
    spacing = given.get("hole_spacing", common.hole_spacing)
    first = given.get("first_hole", spacing / 2 if "hole_spacing" in given else common.first_hole)
    made = Rail(
        common.length,
        spacing,
        first,
        given.get("remainder", common.remainder),
        given.get("clear_start", common.clear_start),
        given.get("clear_end", common.clear_end),
        common.gap,
        common.kerf,
    )
    return possible(made, unit, f'edge "{table.name}"')


def _warmth(table: RailTable) -> Warmth | None:
    temperatures = (table.coldest, table.warmest, table.fitted_at)
    if table.material is None:
        if any(t is not None for t in temperatures):
            raise InputError(
                'temperatures want a material, such as "pvc pipe"', key="rail.material"
            )
        return None
    try:
        name = rail_material(table.material).name
    except InputError as error:
        raise error.at(key="rail.material") from None
    if table.coldest is None or table.warmest is None:
        raise InputError("a material wants coldest and warmest beside it", key="rail")
    warmest = table.warmest + (SOLAR_GAIN if table.in_sun else 0.0)
    if table.coldest >= warmest:
        raise InputError("is warmer than the warmest", key="rail.coldest")
    fitted = table.fitted_at if table.fitted_at is not None else table.coldest
    return Warmth(name, table.coldest, warmest, fitted)


def _gap(warmth: Warmth | None, stock: Fraction) -> Fraction:
    """Return the gap to leave at a joint, so that rails hung that cold just touch at the warmest.

    Rounded up to 1/10 mm, finer than anyone sets a gap.
    """
    if warmth is None:
        return Fraction(0)
    grows = expansion(
        rail_material(warmth.material), float(stock), warmth.fitted_at, warmth.warmest
    )
    return max(Fraction(0), Fraction(-int(-grows * 10_000 // 1), 10_000))
