"""The account: what an export draws from every budget, and what an evening of it costs.

Its figures come from the codes as they were written or, in a check, from the bytes of the file.
Equal figures give equal text, to the byte.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from dataclasses import asdict, dataclass
from functools import lru_cache
from typing import Any, NamedTuple

from lumenmap.core.plain import plain
from lumenmap.core.wording import some
from lumenmap.house.choices import BudgetKind
from lumenmap.house.model import House
from lumenmap.parts.ampacity import AMPACITY
from lumenmap.parts.wires import wire
from lumenmap.power.limits.torn import PacketFigures
from lumenmap.site import Site

#: Printed with every figure that somebody may use for wiring.
CAUTION = (
    "These figures are calculated from the house file and data sheets; measure before you rely on",
    "them. Put a fuse at the supply end of every wire, no larger than the thinnest wire behind it",
    "allows, and never replace a blown fuse with a larger one. Unplug before you touch wiring.",
    "Local code governs mains, wet places and wires in parallel: ask a licensed electrician.",
)


#: Printed above what is drawn between packets.
BETWEEN = (
    "Between packets: every universe is a packet, and a receiver shows it when it comes, so for a "
    "moment the lines show neighbouring frames. At most, with packets in the order in which they "
    "are sent (falling light first), in any order, and with any of them lost:"
)
#: Rounding takes no budget over its limit.
_FULL = 1 + 1e-9


@dataclass(frozen=True, slots=True)
class BudgetFigures:
    """The figures of one budget: its limit, peak and mean (A), and the first frame of the peak.

    ``between`` is what it draws between packets, for a supply or branch over several packets.
    """

    name: str
    kind: BudgetKind
    amps: float
    peak: float
    mean: float
    worst: int
    between: PacketFigures | None = None


@dataclass(frozen=True, slots=True)
class Energy:
    """Energy from the mains: W, Wh, kWh, and its cost if the house gives a price."""

    mean_watts: float
    loop_wh: float
    evening_kwh: float
    season_kwh: float
    season_cost: float | None


class Account(NamedTuple):
    """What an export draws: `text` for people, `report` for programs."""

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
    accepted: tuple[str, ...] = ()

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
            "accepted": list(self.accepted),
        }

    def text(self) -> str:
        """Return the account as it is printed."""
        e = self.energy
        cost = f", which costs {self.cost}" if self.cost else ""
        wide = max([8, *(len(r.name) for r in self.rows)])
        head = f"{'budget':{wide}}  kind       limit     peak     mean   margin  peak at frame"
        table = [
            f"{r.name:{wide}}  {r.kind:6} {r.amps:7.3f} A {r.peak:7.3f}  {r.mean:7.3f}  "
            f"{r.amps - r.peak:7.3f}  {r.worst} at {r.worst / self.fps:.2f} s"
            for r in self.rows
        ]
        amps = AMPACITY[self.table]
        lines = [
            f"Account of the power, computed and not inspected: {self.house}",
            f"{self.frames} frames at {self.fps:g} frames/s ({self.frames / self.fps:.2f} s), "
            f"{self.pixels} pixels of kind {self.kind}",
            f"SHA-256 of frames.rgb: {self.sha256}",
            "",
            head,
            *table,
            "",
            *self._between(wide),
            f"From the mains, with supplies of {100 * self.efficiency:.0f} % efficiency: "
            f"{e.mean_watts:.1f} W on average, {e.loop_wh:.3f} Wh a loop,",
            f"{e.evening_kwh:.3f} kWh an evening of {self.hours:g} h, {e.season_kwh:.2f} kWh a "
            f"season of {some(self.evenings, 'evening')}{cost}.",
            "",
            "A branch may carry 80 % of its fuse (the 125 % rule of NEC 210.20(A) [P]; its use on",
            "the low-voltage side is common practice).",
            *_wrapped(f'Ampacity of wire by table "{amps.name}": {amps.answers}. {amps.source}.'),
            *(f"  {line}" for line in self.wires),
            "",
            *(line for text in self.accepted for line in _wrapped(f"ACCEPTED: {text}")),
            *([""] if self.accepted else []),
            *CAUTION,
        ]
        return "\n".join(map(plain, lines)) + "\n"

    def _between(self, wide: int) -> list[str]:
        """Return what is drawn between packets, where there are several."""
        rows = [(r, r.between) for r in self.rows if r.between is not None]
        if not rows:
            return []
        table = [
            f"{r.name:{wide}}  {r.kind:6} {b.in_order:9.3f} A {b.any_order:9.3f} A {b.lost:10.3f} A"
            for r, b in rows
        ]
        return [
            *_wrapped(BETWEEN),
            f"{'budget':{wide}}  kind      in order   any order  packets lost",
            *table,
            *_wrapped(over_between([(r.name, r.amps, b) for r, b in rows])),
            "",
        ]


def over_between(rows: Iterable[tuple[str, float, PacketFigures]]) -> str:
    """Return what is guaranteed between packets, for budgets by name, limit (A) and figures."""
    known = list(rows)
    for over, when in (
        ([n for n, amps, b in known if b.in_order > amps * _FULL], "even with no packet lost"),
        (
            [n for n, amps, b in known if b.any_order > amps * _FULL],
            "if packets change places or one is lost",
        ),
    ):
        if over:
            return (
                f"Over the limit for a moment, {when}: {', '.join(over)}. No fuse blows in that "
                "time, but a supply may switch off. Write between_packets = true in the show's "
                "[limit] to leave room, or use --sync with receivers that know synchronisation."
            )
    if lost := [n for n, amps, b in known if b.lost > amps * _FULL]:
        return (
            "Within every limit between packets, unless a packet is lost: then, until "
            f"the next one, {' and '.join(lost)} may be over."
        )
    return "Within every limit between packets, even if some are lost."


@lru_cache
def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, 98)


def account(
    site: Site,
    *,
    frames: int,
    fps: float,
    sha256: str,
    rows: list[BudgetFigures],
) -> Account:
    """Return the account of an export."""
    house, usage = site.house, site.house.usage
    energy = _energy(house, rows, frames / fps)
    sizes = {
        house.wire_defaults.string,
        *(f.wire for f in house.feeds),
        *(b.wire for b in house.buses),
        *(t.wire for t in house.trunks),
        *(t.wire for t in house.taps),
    }
    wires = sorted({f"{w.name}: {w.source}" for w in map(wire, sizes)})
    return Account(
        house.name,
        house.kind.name,
        len(site.pixels),
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
        tuple(map(str, site.verdict.accepted)),
    )


def _energy(house: House, rows: list[BudgetFigures], seconds: float) -> Energy:
    """Return what the mains give in a loop of so long, in an evening, in a season."""
    usage = house.usage
    volts = {s.name: s.volts for s in house.supplies}
    watts = sum(volts[r.name] * r.mean for r in rows if r.kind == "supply") / usage.efficiency
    evening = watts * usage.hours / 1000
    season = evening * usage.evenings
    cost = None if usage.price is None else season * usage.price
    return Energy(watts, watts * seconds / 3600, evening, season, cost)
