"""Rail materials: how much they grow when they warm.

Sources: [P] published text read, [C] common practice, no source. Maker and grade vary, so the
figure may be overridden by giving the gap itself.
"""

from __future__ import annotations

from dataclasses import dataclass

from lumenmap.core.errors import InputError, unknown


@dataclass(frozen=True, slots=True)
class RailMaterial:
    """A material; ``per_c`` its linear expansion a °C."""

    name: str
    per_c: float
    source: str


_ROWS = (
    RailMaterial("pvc pipe", 3.0e-5 * 1.8, "3.0e-5 a F: makers' tables for PVC pipe [P]"),
    RailMaterial("pvc conduit", 3.38e-5 * 1.8, "3.38e-5 a F: NFPA 70 (2023) table 352.44(A) [P]"),
    RailMaterial("cellular pvc", 4.5e-5 * 1.8, "4.5e-5 a F: upper end of makers' data [P]"),
    RailMaterial("aluminium", 23.1e-6, "23.1e-6 a C: handbook value for pure aluminium [M]"),
)
RAIL_MATERIALS: dict[str, RailMaterial] = {row.name: row for row in _ROWS}

#: Sun on a rail: this much above the warmest air (°C); 30 °F [P: a conduit maker's guide].
SUN = 30 / 1.8
#: Fixed points with more growth than this between them want an expansion joint (m): 1/4 in
#: [P: NFPA 70 (2023) 352.44].
MOST_GROWTH = 0.00635


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


def growth(material: RailMaterial, length: float, cold: float, warm: float) -> float:
    """Return how much ``length`` m grows from ``cold`` to ``warm`` °C (m).

    >>> round(growth(rail_material("pvc pipe"), 3.048, 0, 60 / 1.8) / 0.0254, 3)  # 10 ft, 60 F
    0.216
    """
    return material.per_c * length * (warm - cold)
