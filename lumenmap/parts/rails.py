"""Rail materials: their thermal expansion.

Sources: [P] published text, [M] from memory. Maker and grade vary, so the
figure may be overridden by giving the gap itself.
"""

from __future__ import annotations

from typing import NamedTuple

from lumenmap.core.errors import InputError, unknown


class RailMaterial(NamedTuple):
    """A material; ``per_c`` is its coefficient of linear expansion per °C."""

    name: str
    per_c: float
    source: str


_ROWS = (
    RailMaterial("pvc pipe", 3.0e-5 * 1.8, "3.0e-5 per F: Heritage Plastics, PVC pipe [P]"),
    RailMaterial("pvc conduit", 3.38e-5 * 1.8, "3.38e-5 per F: NFPA 70 (2023) table 352.44(A) [P]"),
    RailMaterial("cellular pvc", 4.5e-5 * 1.8, "4.5e-5 per F: upper end of makers' data [M]"),
    RailMaterial("aluminium", 23.1e-6, "23.1e-6 per C: handbook value for pure aluminium [M]"),
)
RAIL_MATERIALS: dict[str, RailMaterial] = {row.name: row for row in _ROWS}

#: A rail in the sun: this much above the warmest air (°C); 30 °F [P: Carlon's
#: guide for its conduit, p. E-517].
SOLAR_GAIN = 30 / 1.8
#: Fixed points with more expansion than this between them need an expansion joint (m): 1/4 in
#: [P: NFPA 70 (2023) 352.44].
MAX_EXPANSION = 0.00635


def rail_material(name: str) -> RailMaterial:
    """Return a row of the table.

    Raises
    ------
    InputError
        No such row; names the nearest.
    """
    if name not in RAIL_MATERIALS:
        raise InputError(unknown("rail material", name, RAIL_MATERIALS))
    return RAIL_MATERIALS[name]


def expansion(material: RailMaterial, length: float, cold: float, warm: float) -> float:
    """Return the expansion of ``length`` m from ``cold`` to ``warm`` °C (m).

    >>> round(expansion(rail_material("pvc pipe"), 3.048, 0, 60 / 1.8) / 0.0254, 3)  # 10 ft, 60 F
    0.216
    """
    return material.per_c * length * (warm - cold)
