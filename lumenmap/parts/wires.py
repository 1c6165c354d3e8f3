"""Copper wire: sizes, resistance with temperature, and the amps each may carry.

Diameters are computed by the law of ASTM B258 rather than looked up; IEC 60228 sizes are rows of
that standard. Ampacity depends on the question asked, so each table is named (see `AMPACITY`).
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from lumenmap.core.errors import InputError, unknown

#: Ohm mm² / km at 20 °C: 100 % IACS annealed copper, 1/58 ohm mm²/m [K from the IACS definition].
RHO_20 = 17.241
#: Per °C at 20 °C, the same copper [P: NBS Handbook 100 for the form; 3.93e-3 in two handbooks].
ALPHA_20 = 0.00393

#: IEC 60228 class 5 plain (the usual flexible wire), max ohm/km at 20 °C, by mm² [P].
IEC_60228 = {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98}


@dataclass(frozen=True, slots=True)
class Wire:
    """A size of copper conductor.

    Attributes
    ----------
    name
        As people write it: ``14 AWG`` or ``1.5 mm2``.
    area
        Cross-section, mm².
    ohm_per_km
        One conductor at 20 °C.
    source
        Where the figures are from.
    """

    name: str
    area: float
    ohm_per_km: float
    source: str

    def ohms(self, metres: float, celsius: float = 20.0) -> float:
        """Return the resistance (ohm) of ``metres`` of one conductor; double it for out and back.

        >>> round(wire("16 AWG").ohms(304.8), 3)  # 1,000 ft at 20 °C
        4.016
        """
        return self.ohm_per_km * metres / 1000 * (1 + ALPHA_20 * (celsius - 20))


def awg_diameter(gauge: int) -> float:
    """Return the diameter of a gauge in mm: 0.127 × 92^((36 − n)/39) (ASTM B258)."""
    return 0.127 * math.pow(92, (36 - gauge) / 39)


def wire(text: str) -> Wire:
    """Read a wire size.

    Parameters
    ----------
    text
        ``14 AWG`` (4 to 30), or a flexible IEC size: ``1.5 mm2``.

    Raises
    ------
    InputError
        Not a size, or one that is not in the table.
    """
    if m := re.fullmatch(r"\s*(?:AWG\s*)?#?(\d{1,2})\s*(?:AWG|ga|gauge)?\s*", text, re.I):
        gauge = int(m.group(1))
        if not 4 <= gauge <= 30 or not re.search(r"AWG|ga", text, re.I):
            raise InputError(
                f'"{text}" is no wire size here; wanted 4 AWG to 30 AWG, or a size in mm2'
            )
        area = math.pi / 4 * awg_diameter(gauge) ** 2
        return Wire(
            f"{gauge} AWG",
            area,
            RHO_20 / area,
            "ASTM B258 diameter [P]; 17.241 ohm mm2/km, solid, 20 C [K]",
        )
    if m := re.fullmatch(r"\s*(\d{1,2}(?:\.\d{1,2})?)\s*(?:mm2|mm²|mm\^2|sqmm)\s*", text):
        area = float(m.group(1))
        if area in IEC_60228:
            return Wire(
                f"{area:g} mm2",
                area,
                IEC_60228[area],
                "IEC 60228 class 5 plain, maximum at 20 C [P]",
            )
        raise InputError(unknown("wire size", f"{area:g} mm2", [f"{a:g} mm2" for a in IEC_60228]))
    raise InputError(f'"{text[:40]}" is no wire size; wanted something like "14 AWG" or "1.5 mm2"')


#: Conservative planner default: the smaller of NEC 402.5 (fixture wire) and 240.4(D)
#: [18 and 12 AWG P, 16 AWG P2, 14 AWG P]; 20 and 22 AWG are a house rule with no code table
#: behind them [C]; finer wire carries 700 circular mils an ampere, a handbook rule of thumb [P].
PLANNER = {22: 2.0, 20: 3.0, 18: 6.0, 16: 8.0, 14: 15.0, 12: 20.0, 10: 28.0}


def ampacity(size: Wire) -> float:
    """Return the amps that ``size`` may carry by the conservative planner table.

    An IEC size takes the row of the next thinner AWG.
    """
    fits = [n for n in PLANNER if awg_area(n) <= size.area * 1.001]
    if not fits:
        return size.area * 1973.525 / 700  # 1 mm² = 1973.525 circular mils [K]
    return PLANNER[min(fits)]


def awg_area(gauge: int) -> float:
    """Return the cross-section of a gauge in mm²."""
    return math.pi / 4 * awg_diameter(gauge) ** 2
