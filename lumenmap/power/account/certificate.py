"""The certificate: what an export draws from every budget, and what an evening of it costs.

Its figures come either from the codes as they were written or, in a check, from the bytes that are
there; the same figures give the same text, to the byte.
"""

from __future__ import annotations

import textwrap
from dataclasses import asdict, dataclass
from functools import lru_cache
from typing import Any

from lumenmap.parts.ampacity import AMPACITY
from lumenmap.parts.wires import wire
from lumenmap.site import Site

#: Said with every figure that somebody may wire by.
CAUTION = (
    "Figures are computed from the house file and data sheets; measure before you rely on them.",
    "Put a fuse at the supply end of every wire, no larger than the thinnest wire behind it, and",
    "never a larger one because one blew. Unplug before you touch wiring. Mains, wet places and",
    "wires joined in parallel are governed by local code: ask a licensed electrician.",
)


@dataclass(frozen=True, slots=True)
class BudgetFigures:
    """What one budget gives: A; ``worst`` the first frame of the peak."""

    name: str
    kind: str
    amps: float
    peak: float
    mean: float
    worst: int


@dataclass(frozen=True, slots=True)
class Energy:
    """What the lights take from the wall: W, Wh, kWh, and money if the house names a price."""

    mean_watts: float
    loop_wh: float
    evening_kwh: float
    season_kwh: float
    season_cost: float | None


@dataclass(frozen=True, slots=True)
class Certificate:
    """What an export draws; `text` is for people, `report` for programs."""

    house: str
    kind: str
    pixels: int
    frames: int
    fps: float
    sha256: str
    rows: tuple[BudgetFigures, ...]
    energy: Energy
    hours: float
    evenings: int
    efficiency: float
    table: str
    wires: tuple[str, ...]
    cost: str

    def report(self) -> dict[str, Any]:
        """Return the figures as plain data: A, W, Wh, kWh, s."""
        rows = [
            asdict(r) | {"margin": r.amps - r.peak, "worst_time": r.worst / self.fps}
            for r in self.rows
        ]
        return {
            "sha256": self.sha256,
            "budgets": rows,
            "energy": asdict(self.energy),
            "ampacity_table": self.table,
        }

    def text(self) -> str:
        """Return the certificate as it is printed."""
        e = self.energy
        cost = f", which costs {self.cost}" if self.cost else ""
        wide = max([8, *(len(r.name) for r in self.rows)])
        head = f"{'budget':{wide}}  kind    may give     peak     mean   margin  worst frame"
        table = [
            f"{r.name:{wide}}  {r.kind:6} {r.amps:7.3f} A {r.peak:7.3f}  {r.mean:7.3f}  "
            f"{r.amps - r.peak:7.3f}  {r.worst} at {r.worst / self.fps:.2f} s"
            for r in self.rows
        ]
        amps = AMPACITY[self.table]
        lines = [
            f"Power certificate: {self.house}",
            f"{self.frames} frames at {self.fps:g} frames/s ({self.frames / self.fps:.2f} s), "
            f"{self.pixels} pixels of kind {self.kind}",
            f"SHA-256 of frames.rgb: {self.sha256}",
            "",
            head,
            *table,
            "",
            f"From the wall, supplies at {self.efficiency:.0%}: {e.mean_watts:.1f} W mean, "
            f"{e.loop_wh:.3f} Wh a loop, {e.evening_kwh:.3f} kWh an evening of {self.hours:g} h,",
            f"{e.season_kwh:.2f} kWh a season of {self.evenings} evenings{cost}.",
            "",
            "A branch may carry 80 % of its fuse (the 125 % rule turned round, NEC 210.20(A) [P];",
            "its use on the low-voltage side is common practice).",
            *_wrapped(f'Wire: amps by table "{amps.name}": {amps.answers}. {amps.source}.'),
            *(f"  {line}" for line in self.wires),
            "",
            *CAUTION,
        ]
        return "\n".join(lines) + "\n"


@lru_cache
def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, 98)


def certificate(
    site: Site,
    *,
    frames: int,
    fps: float,
    sha256: str,
    rows: list[BudgetFigures],
) -> Certificate:
    """Make out the certificate of an export."""
    house, pixelmap = site.house, site.pixels
    usage = house.usage
    volts = {s.name: s.volts for s in house.supplies}
    watts = sum(volts[r.name] * r.mean for r in rows if r.kind == "supply") / usage.efficiency
    evening = watts * usage.hours / 1000
    season = evening * usage.evenings
    energy = Energy(
        watts,
        watts * frames / fps / 3600,
        evening,
        season,
        None if usage.price is None else season * usage.price,
    )
    sizes = {
        house.wire_defaults.string,
        *(f.wire for f in house.feeds),
        *(b.wire for b in house.buses),
    }
    wires = sorted({f"{w.name}: {w.source}" for w in map(wire, sizes)})
    return Certificate(
        house.name,
        pixelmap.kind.name,
        len(pixelmap),
        frames,
        fps,
        sha256,
        tuple(rows),
        energy,
        usage.hours,
        usage.evenings,
        usage.efficiency,
        house.wire_defaults.ampacity,
        tuple(wires),
        "" if energy.season_cost is None else house.buying.money(energy.season_cost),
    )
