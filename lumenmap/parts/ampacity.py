"""The current a wire may carry: published tables that answer different questions, by name.

The planner's default is the most cautious. Local code and the wire's own data sheet take precedence
over every table here. Sources: NEC23 is NFPA 70, 2023 edition; [P] published text, [P2] third-party
copies, [M] from memory, [C] common practice, no source.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from lumenmap.core.errors import InputError, unknown
from lumenmap.parts.wires import Wire, awg_area


class AmpacityTable(NamedTuple):
    """Ampacity (A) by gauge, the question the table answers, and its source.

    ``insulation`` is the temperature (°C) of the column it is taken from, if it has columns.
    """

    name: str
    amps: dict[int, float]
    answers: str
    source: str
    insulation: float | None = None


_PLANNER = {
    30: 0.14,
    28: 0.22,
    26: 0.36,
    24: 0.57,
    22: 2,
    20: 3,
    18: 6,
    16: 8,
    14: 15,
    12: 20,
    10: 28,
}

_TABLES = (
    AmpacityTable(
        "planner",
        _PLANNER,
        "the smaller of fixture-wire and small-conductor-fuse: the cautious default",
        "NEC23 402.5 and 240.4(D) [P, P2, M by row]; 20 and 22 AWG are a house rule with no code "
        "table behind them [C]; finer ones 700 circular mils an ampere, rounded down [K]",
    ),
    AmpacityTable(
        "fixture-wire",
        {18: 6, 16: 8, 14: 17, 12: 23, 10: 28},
        "wire inside and up to a luminaire",
        "NEC23 402.5: 18 and 12 AWG [P], 16 AWG [P2], 14 and 10 AWG [M]",
    ),
    AmpacityTable(
        "small-conductor-fuse",
        {18: 7, 16: 10, 14: 15, 12: 20, 10: 30},
        "the largest fuse allowed for small branch-circuit wire",
        "NEC23 240.4(D) [P]; it requires listed branch-circuit fuses, which a blade fuse is not",
    ),
    AmpacityTable(
        "building-60C",
        {14: 15, 12: 20, 10: 30},
        "up to three conductors in raceway or cable at 30 C, 60 C terminals",
        "NEC23 310.16 [P]",
        60,
    ),
    AmpacityTable(
        "building-75C",
        {14: 20, 12: 25, 10: 35},
        "up to three conductors in raceway or cable at 30 C, 75 C terminals",
        "NEC23 310.16 [P]",
        75,
    ),
    AmpacityTable(
        "cord-two",
        {18: 10, 16: 13, 14: 18, 12: 25, 10: 30},
        "flexible cord with two wires that carry current",
        "NEC23 400.5(A)(1) [P]; 10 AWG [M]",
    ),
    AmpacityTable(
        "cord-three",
        {18: 7, 16: 10, 14: 15, 12: 20, 10: 25},
        "flexible cord with three wires that carry current",
        "NEC23 400.5(A)(1) [P]; 10 AWG [M]",
    ),
    AmpacityTable(
        "700-circular-mils",
        {22: 0.92, 20: 1.5, 18: 2.3, 16: 3.7, 14: 5.9, 12: 9.3, 10: 15},
        "a handbook's rule of thumb for bundled wire: 700 circular mils an ampere",
        "Handbook of Electronic Tables and Formulas, by two copies [P2]",
    ),
)

AMPACITY: dict[str, AmpacityTable] = {table.name: table for table in _TABLES}


def ampacity(size: Wire, table: str = "planner") -> float:
    """Return the ampacity (A) of ``size`` by a table.

    A size between two rows takes the thinner one's.

    Raises
    ------
    InputError
        No such table, or a wire thinner than its thinnest row.
    """
    if table not in AMPACITY:
        raise InputError(unknown("ampacity table", table, AMPACITY, plural="Tables"))
    rows = AMPACITY[table].amps
    # Sizes are nominal, so a thousandth less copper is still the same size.
    fits = [gauge for gauge in rows if awg_area(gauge) <= size.area * 1.001]
    if not fits:
        raise InputError(
            f'ampacity table "{table}" has no row for {size.name}; its thinnest wire is '
            f"{max(rows)} AWG"
        )
    return float(rows[min(fits)])


#: The air (°C) that the tables are for [P: NEC23 310.16].
TABLE_AIR = 30.0
#: Part of its ampacity that a wire keeps with so many conductors, or more, in one pipe.
#: [P: NEC23 310.15(C)(1); from 21 on M].
BUNDLES = ((41, 0.35), (31, 0.40), (21, 0.45), (10, 0.50), (7, 0.70), (4, 0.80), (1, 1.0))


def heat_factor(air: float, insulation: float) -> float:
    """Return the part of its ampacity that a wire keeps in warm air, at most 1.

    The square root of what is left to heat up by: √((insulation - air) / (insulation - 30)). The
    rows of NEC23 310.15(B)(1)(1) are this formula, rounded, at the warm end of each [P, K].

    Parameters
    ----------
    air
        Temperature round the wire (°C).
    insulation
        That its insulation is made for (°C).

    Raises
    ------
    InputError
        Air as hot as the insulation may get.

    >>> round(heat_factor(40, 75), 2)
    0.88
    """
    if air >= insulation:
        raise InputError(
            f"is {air:g} C round wire whose insulation is for {insulation:g} C; use other "
            "insulation, or cooler air"
        )
    return min(1.0, math.sqrt((insulation - air) / (insulation - TABLE_AIR)))


def bundle_factor(conductors: int) -> float:
    """Return the part of its ampacity that a wire keeps among others that carry current.

    >>> bundle_factor(3), bundle_factor(4)
    (1.0, 0.8)
    """
    return next(factor for least, factor in BUNDLES if conductors >= least)
