"""`Suggestions`: the plans side by side, as a table for people and as plain data."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.units import LENGTH
from lumenmap.core.wording import some
from lumenmap.house.choices import Unit
from lumenmap.power.feeding.choose import KINDS, Impossible, Step, cheapest
from lumenmap.power.feeding.faults import CLEAR
from lumenmap.power.feeding.groundwork.ground import Ground
from lumenmap.power.feeding.judge import Judged
from lumenmap.power.feeding.toml import plan_toml, where
from lumenmap.power.report.findings import PARALLEL

_COLUMNS = (
    "plan",
    "light",
    "shows",
    "lowest",
    "money",
    "copper",
    "joints",
    "fuses",
    "cuts",
    "hours",
)


@dataclass(frozen=True, slots=True, eq=False)
class Suggestions:
    """The plans for a light, the cheapest that gives it, and what each step of light costs."""

    ground: Ground
    light: str
    plans: tuple[Judged | Impossible, ...]
    steps: tuple[Step, ...]
    notes: tuple[str, ...] = ()

    @property
    def possible(self) -> list[Judged]:
        """The plans that can be built."""
        return [p for p in self.plans if isinstance(p, Judged)]

    @property
    def chosen(self) -> Judged | None:
        """The cheapest plan that gives the light, or None."""
        return cheapest(self.plans)

    def plan(self, name: str) -> Judged:
        """Return a plan by name.

        Raises
        ------
        InputError
            No such plan, or one that can't be built.
        """
        for p in self.plans:
            if isinstance(p, Judged) and p.plan.name == name:
                return p
            if isinstance(p, Impossible) and p.name == name:
                raise InputError(f'"{name}" isn\'t possible: {p.why}', key="--plan")
        raise InputError(unknown("plan", name, KINDS), key="--plan")

    def toml(self, name: str) -> list[str]:
        """Return a plan as tables for the house file; raises as `plan`."""
        found = self.plan(name)
        return plan_toml(found.plan, found.site)

    def report(self) -> dict[str, Any]:
        """Return the plans as plain data: V, g, m of pair, hours, and 0..1 of full white."""
        return {
            "light": self.ground.level,
            "floor_volts": self.ground.floor,
            "plans": [self._row(p) for p in self.possible],
            "impossible": [asdict(p) for p in self.plans if isinstance(p, Impossible)],
            "chosen": self.chosen.plan.name if self.chosen else None,
            "steps": [
                {
                    "level": s.level,
                    "plan": s.best.plan.name if s.best else None,
                    "money": s.best.bill.money if s.best else None,
                }
                for s in self.steps
            ],
            "notes": list(self.notes),
        }

    def _row(self, p: Judged) -> dict[str, Any]:
        return {
            "name": p.plan.name,
            "reached": p.reached,
            "binds": p.binds,
            "lowest": p.lowest,
            "dimmed": dict(p.dimmed),
            **asdict(p.bill),
            "faults": p.faults.faults,
            "fault": str(p.faults) if p.faults.worst else None,
            "toml": "\n".join(plan_toml(p.plan, p.site)),
        }

    def lines(self, width: int | None = None) -> list[str]:
        """Return the table and what is to be said about it, as printed.

        ``width`` is that of the terminal: a table that doesn't fit it comes out as sentences.
        """
        g, kind = self.ground, self.ground.site.house.kind
        gives = ", ".join(f'"{s.name}" gives {s.amps:g} A' for s in g.site.house.supplies)
        return [
            f"Plans for {self.light}, with at least {g.floor:.2f} V at every pixel, "
            f"{100 * g.margin:g} % above the {kind.min_volts:g} V they need. Supply {gives}.",
            "",
            *_table([_COLUMNS, *(self._cells(p) for p in self.possible)], width),
            "",
            *self._each(),
            "",
            *self._verdict(),
            *self._faults(),
            *self._small(),
        ]

    def _cells(self, p: Judged) -> tuple[str, ...]:
        b = p.bill
        undimmed = sum(not frames for _, frames in p.dimmed)
        return (
            p.plan.name + (" *" if p is self.chosen else ""),
            f"{100 * p.reached:.0f} %",
            f"{undimmed} of {len(p.dimmed)}" if p.dimmed else "-",
            f"{p.lowest:.2f} V",
            self._money(b.money),
            f"{b.copper / 1000:.2f} kg",
            f"{b.joints}",
            f"{b.fuses}",
            f"{b.cuts}",
            f"{b.hours:.0f}",
        )

    def _each(self) -> Iterator[str]:
        unit = self.ground.site.house.unit
        for p in self.plans:
            if isinstance(p, Impossible):
                yield f"{p.name}: not possible, since {p.why.rstrip('.')}."
                continue
            wires = ", ".join(f"{_rough(m, unit)} of {w}" for w, m in p.bill.wire.items())
            fuses: dict[float, int] = {}
            for f in p.site.wiring.fuses:
                if f.amps is not None:
                    fuses[f.amps] = fuses.get(f.amps, 0) + 1
            rated = ", ".join(f"{n} of {a:g} A" for a, n in sorted(fuses.items()))
            yield f"{p.plan.name}: {KINDS[p.plan.name][1]}."
            if wires:
                yield f"    pairs: {wires}; fuses: {rated or 'none'}"
            if not p.does:
                yield f"    at most {100 * p.reached:.0f} %, held by the {p.binds}"
            for name, frames in p.dimmed:
                if frames:
                    yield f"    {name}: {some(frames, 'frame')} dimmed"

    def _verdict(self) -> Iterator[str]:
        best = self.chosen
        if best is None:
            most = max(self.possible, key=lambda p: p.reached, default=None)
            end = f"; {most.plan.name} gives most, {100 * most.reached:.0f} %" if most else ""
            yield f"No plan gives {self.light}{end}."
        else:
            yield (
                f"Cheapest for {self.light}: {best.plan.name}, {self._money(best.bill.money)} and "
                f"about {some(round(best.bill.hours), 'hour')}."
            )
            yield from (f"    {text}" for text in where(best.plan, best.site))
        before = 0.0
        told = []
        for s in self.steps:
            if s.best is None:
                told.append(f"{100 * s.level:.0f} %: no plan")
                continue
            money = s.best.bill.money
            more = f" ({self._money(money - before)} more)" if before and money > before else ""
            told.append(f"{100 * s.level:.0f} %: {s.best.plan.name}, {self._money(money)}{more}")
            before = money
        yield "Light by light, the cheapest: " + "; ".join(told) + "."

    def _faults(self) -> Iterator[str]:
        clear = [p.plan.name for p in self.possible if p.faults.worst is None]
        if clear:
            yield f"{', '.join(clear)}: {CLEAR}"
        yield from (f"{p.plan.name}: {p.faults}" for p in self.possible if p.faults.worst)

    def _small(self) -> Iterator[str]:
        guessed = sorted({g for p in self.possible for g in p.bill.guessed})
        if guessed:
            known = self.ground.site.house.buying.currency
            money = "" if known else ", in no currency, good for comparing plans"
            yield (
                f"Prices of {', '.join(guessed)} are guesses{money}: write yours under [buying] "
                "prices. All wire counts as new."
            )
        yield (
            "Leads that lie together in a pipe may carry less: write [wiring] conductors and plan "
            "again."
        )
        yield from dict.fromkeys([*self.notes, *(n for p in self.possible for n in p.plan.notes)])
        if any(p.plan.buses for p in self.possible):
            yield f"Buses: {PARALLEL}"
        yield (
            "Lead-ins are estimated from the feeds there are; measure yours. A short circuit in a "
            "thin wire without a fuse can start a fire. Unplug before you touch wiring."
        )
        yield "A plan as TOML for the house file: add --plan NAME."

    def _money(self, value: float) -> str:
        return self.ground.site.house.buying.money(value)


def _rough(metres: float, unit: Unit) -> str:
    """Return a length that nobody cuts by: ``206 ft``, ``6.3 m``."""
    if unit in ("ft", "in"):
        return f"{metres / float(LENGTH['ft']):.0f} ft"
    return f"{metres:.1f} m"


def _table(rows: Sequence[tuple[str, ...]], width: int | None) -> list[str]:
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    if width is not None and sum(widths) + 2 * len(widths) - 2 > width:
        return [_in_words(rows[0][1:], row) for row in rows[1:]]
    return [
        "  ".join(
            cell.ljust(w) if not i else cell.rjust(w)
            for i, (cell, w) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]


def _in_words(columns: Sequence[str], row: Sequence[str]) -> str:
    """Return a row of the table as a line that may be folded."""
    name, *cells = row
    return f"{name}: " + ", ".join(f"{c} {v}" for c, v in zip(columns, cells, strict=True))
