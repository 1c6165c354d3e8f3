"""Copper wire: sizes, and resistance with temperature.

AWG diameters are computed by the law of ASTM B258 rather than looked up; IEC 60228 sizes are rows
of that standard. For the current a size may carry see `ampacity`.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache, lru_cache

from lumenmap.core.errors import InputError, unknown

#: Ohm mm²/km at 20 °C of 100 % IACS annealed copper, which is 1/58 ohm mm²/m [K].
RHO_20 = 17.241
#: Per °C, the same copper, referred to 20 °C [P: NBS Handbook 100 for the form; two handbooks].
ALPHA_20 = 0.00393

#: IEC 60228 maxima, ohm/km at 20 °C by mm² [P2: makers' copies of its tables,
#: Kabelmetal's for classes 1 and 2; from 4 mm² on M].
_MM2 = (0.5, 0.75, 1.0, 1.5, 2.5, 4.0, 6.0, 10.0, 16.0)
_OHMS = {
    "flexible": (39.0, 26.0, 19.5, 13.3, 7.98, 4.95, 3.30, 1.91, 1.21),
    "flexible tinned": (40.1, 26.7, 20.0, 13.7, 8.21, 5.09, 3.39, 1.95, 1.24),
    "solid": (36.0, 24.5, 18.1, 12.1, 7.41, 4.61, 3.08, 1.83, 1.15),
}
IEC_60228 = {make: dict(zip(_MM2, ohms, strict=True)) for make, ohms in _OHMS.items()}
_CLASSES = {
    "flexible": "class 5 plain",
    "flexible tinned": "class 5 tinned",
    "solid": "class 1 and 2 plain",
}

#: What looks like a metric size, though it isn't written as one.
_NEARLY = re.compile(r"\d[.,]\d|\d\s*[x×]\s*\d|mm|qmm|sq", re.I)
#: Gauges in use for this; finer and thicker ones are refused.
THINNEST, THICKEST = 30, 4

#: Resistance of a stranded conductor over a solid one of its gauge. NEC Chapter 9 Table 8 prints
#: both at 75 °C: 1.023 for 18 AWG, 1.020, 1.023, 1.026 and 1.025 for 10 AWG [P]; this is their
#: mean [K]. Most of it is the lay, for which ASTM B8 allows 2 % [M].
STRANDED = 1.0234
_BUILDS = {"solid": 1.0, "stranded": STRANDED}

_AWG = re.compile(r"\s*(?:#?(\d{1,2})\s*(?:AWG|ga|gauge)|AWG\s*(\d{1,2}))(?:\s+(\w+))?\s*", re.I)
_METRIC = re.compile(r"\s*(\d{1,2}(?:\.\d{1,2})?)\s*(?:mm2|mm²|mm\^2)\s*(.*?)\s*", re.I)


@dataclass(frozen=True, slots=True)
class Wire:
    """A size of copper conductor.

    Attributes
    ----------
    name
        As people write it: ``14 AWG``, ``18 AWG stranded`` or ``1.5 mm2``.
    area
        Cross-section, mm².
    ohm_per_km
        One conductor at 20 °C.
    source
        Source of the figures.
    """

    name: str
    area: float
    ohm_per_km: float
    source: str

    def ohms(self, metres: float, celsius: float = 20.0) -> float:
        """Return the resistance (ohm) of ``metres`` of one conductor; double it for the return.

        >>> round(wire("16 AWG").ohms(304.8), 2)  # 1,000 ft at 20 °C
        4.02
        """
        return self.ohm_per_km * metres / 1000 * (1 + ALPHA_20 * (celsius - 20))


def awg_diameter(gauge: int) -> float:
    """Return the diameter of a gauge in mm: 0.127 × 92^((36 - n)/39) (ASTM B258 [P])."""
    return float(0.127 * 92 ** ((36 - gauge) / 39))


@cache
def awg_area(gauge: int) -> float:
    """Return the cross-section of a gauge in mm²."""
    return math.pi / 4 * awg_diameter(gauge) ** 2


@lru_cache(maxsize=256)
def wire(text: str) -> Wire:
    """Read a wire size.

    Parameters
    ----------
    text
        ``14 AWG`` (4 to 30), which is solid unless ``stranded`` follows it; or an IEC size,
        ``1.5 mm2``, which is flexible plain copper unless ``solid`` or ``flexible tinned`` follows.

    Raises
    ------
    InputError
        Not a size, or one that isn't in the tables.
    """
    if m := _AWG.fullmatch(text):
        gauge = int(m.group(1) or m.group(2))
        if not THICKEST <= gauge <= THINNEST:
            raise InputError(f'"{text}" is out of range; expected {THICKEST} AWG to {THINNEST} AWG')
        return _gauge(gauge, (m.group(3) or "solid").lower())
    if m := _METRIC.fullmatch(text):
        area, make = float(m.group(1)), m.group(2).lower() or "flexible"
        if make not in IEC_60228:
            raise InputError(unknown("make of wire", make, IEC_60228, plural="Makes"))
        if area not in IEC_60228[make]:
            # No nearest spelling: that of 4 mm2 is 1 mm2, a wire a quarter as thick.
            sizes = ", ".join(f"{size:g} mm2" for size in IEC_60228[make])
            raise InputError(f'no wire size "{area:g} mm2"; wire sizes: {sizes}')
        name = f"{area:g} mm2" + ("" if make == "flexible" else f" {make}")
        mark = "P2" if area <= 2.5 else "M"
        source = f"IEC 60228 {_CLASSES[make]}, maximum at 20 C [{mark}]"
        return Wire(name, area, IEC_60228[make][area], source)
    raise InputError(
        f'"{text[:40]}" isn\'t a wire size{_meant(text)} expected a size such as "14 AWG" or '
        '"1.5 mm2"'
    )


def _meant(text: str) -> str:
    """Return which size in mm2 is meant by its number: of ``2,5 mm²``, ``3x2.5``, ``2.5 mm``."""
    if not _NEARLY.search(text):
        return ";"
    *_, number = re.findall(r"\d+(?:[.,]\d+)?", text[:40].partition("mm")[0]) or [""]
    known = {f"{size:g}" for size in _MM2}
    plain = number.replace(",", ".")
    return f': did you mean "{plain} mm2"?' if plain in known else ";"


def _gauge(gauge: int, build: str) -> Wire:
    if build not in _BUILDS:
        raise InputError(unknown("make of wire", build, _BUILDS, plural="Makes"))
    area, name = awg_area(gauge), f"{gauge} AWG"
    source = "ASTM B258 diameter [P]; 17.241 ohm mm2/km at 20 C [K]"
    if build == "stranded":
        name += " stranded"
        source += f"; stranded x {STRANDED} by NEC Chapter 9 Table 8 [K]"
    return Wire(name, area, RHO_20 / area * _BUILDS[build], source)


#: Sizes commonly stocked, thinnest first, in the two systems, and those for a trunk or a bus
#: beside them: common practice, no source.
STOCK_AWG = ("20 AWG", "18 AWG", "16 AWG", "14 AWG", "12 AWG", "10 AWG")
HEAVY_AWG = ("8 AWG", "6 AWG")
STOCK_MM2 = ("0.5 mm2", "0.75 mm2", "1 mm2", "1.5 mm2", "2.5 mm2", "4 mm2", "6 mm2")
HEAVY_MM2 = ("10 mm2", "16 mm2")
