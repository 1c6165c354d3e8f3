"""The power report: a house at full white and at a show's worst frame."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.lengths import show_about
from lumenmap.core.wording import some
from lumenmap.parts.ampacity import AMPACITY
from lumenmap.parts.cautions import power_cautions
from lumenmap.parts.fuses import BLADES, continuous_load
from lumenmap.power.limits.limit import limit
from lumenmap.power.report.analysis import Analysis, analyse, full_white
from lumenmap.power.report.findings import findings
from lumenmap.power.verdict.finding import Finding
from lumenmap.site import Site

#: What flows is told beside what is wanted if it is less than this part of it.
STARVED = 0.98


@dataclass(frozen=True, slots=True, eq=False)
class ShowTrace:
    """A show's current over time, and the frame with the lowest voltage.

    Attributes
    ----------
    title, fps
        Of the show; frames/s.
    amps
        (frames, K) A of each budget.
    lowest
        The frame (1, N, C) with the lowest voltage at any pixel.
    frame
        Its number.
    """

    title: str
    fps: float
    amps: NDArray[np.float64]
    lowest: NDArray[np.uint8]
    frame: int


def trace(blocks: Iterable[NDArray[np.uint8]], site: Site, title: str, fps: float) -> ShowTrace:
    """Return the trace of a show from blocks of its codes (T, N, C); ``fps`` in frames/s."""
    kind = site.house.kind
    amps, seen, low, frame = [], 0, np.inf, 0
    lowest = np.zeros((1, len(site.pixels), kind.channels), np.uint8)
    channel = np.array(kind.channel_ma) / 1000 / 255
    for codes in blocks:
        amps.append(site.budgets.amps_of(codes))
        each = codes @ channel + kind.idle_ma / 1000
        volts = site.wiring.network.load_volts(each).min(axis=1)
        if volts.min() < low:
            i = int(volts.argmin())
            low, frame, lowest = float(volts[i]), seen + i, codes[i : i + 1].copy()
        seen += len(codes)
    return ShowTrace(title, fps, np.concatenate(amps), lowest, frame)


@dataclass(frozen=True, slots=True, eq=False)
class PowerReport:
    """The content of the power report."""

    site: Site
    white: Analysis
    limited: Analysis | None
    worst: Analysis | None
    show: ShowTrace | None
    findings: tuple[Finding, ...]

    @property
    def cases(self) -> list[Analysis]:
        """The frames analysed: full white, limited white, the show's worst frame."""
        return [a for a in (self.white, self.limited, self.worst) if a is not None]

    def report(self) -> dict[str, Any]:
        """Return the figures as plain data: A, V, W, m."""
        return {
            "house": self.site.house.name,
            "pixels": len(self.site.pixels),
            "pixel_kind": self.site.pixels.kind.name,
            "pixel_source": self.site.pixels.kind.source,
            "min_volts": self.site.pixels.kind.min_volts,
            "ampacity_table": self.site.house.wire_defaults.ampacity,
            "ampacity_source": AMPACITY[self.site.house.wire_defaults.ampacity].source,
            "cases": [_case(a) for a in self.cases],
            "findings": [f.report() for f in self.findings],
            "accepted": [a.report() for a in self.site.verdict.accepted],
            "notes": list(self.site.pixels.notes),
            "assumptions": list(self.site.assumptions),
        }

    def lines(self) -> list[str]:
        """Return the report as it is printed."""
        kind = self.site.pixels.kind
        table = AMPACITY[self.site.house.wire_defaults.ampacity]
        sources = sorted({w.source for w in self.site.wiring.wires.values()})
        return [
            f"{self.site.house.name}: {len(self.site.pixels):,} pixels of kind {kind.name}, "
            f"{kind.volts:g} V, at least {kind.min_volts:g} V; "
            f"{sum(kind.channel_ma) + kind.idle_ma:.1f} mA each at full white, "
            f"{kind.idle_ma:g} mA dark",
            *(line for a in self.cases for line in self._case(a)),
            "",
            *([f"{f.severity.upper()}: {f}" for f in self.findings] or ["No findings."]),
            *(f"ACCEPTED: {a}" for a in self.site.verdict.accepted),
            *(f"ASSUMED: {text}" for text in self.site.assumptions),
            *("NOTE: " + note for note in self.site.pixels.notes),
            "",
            f"Pixel figures: {kind.source}.",
            f'Wire amps by table "{table.name}": {table.source}; '
            f"{self.site.house.wire_defaults.basis}.",
            f"Wire resistance: {'; '.join(sources)},"
            f" taken at {self.site.house.wire_defaults.celsius:g} C.",
            "Fuses: blade ratings of ISO 8820-3 [M]; 125 % rule of NEC 210.20(A) [P], whose use "
            "on the low-voltage side is common practice.",
            "",
            *power_cautions(self.site.house.unit),
        ]

    def _case(self, a: Analysis) -> list[str]:
        supplies = {s.name: s for s in self.site.house.supplies}
        rows = ["", f"{a.title}: {a.drawn_watts:.1f} W, of which {a.lost_watts:.1f} W lost in wire"]
        for name, amps in a.wanted.supplies.items():
            flows = _flows(amps, a.supplies[name])
            rows.append(f"  supply {name}: {amps:.2f} A of {supplies[name].amps:g} A{flows}")
        for feed in self.site.wiring.feeds:
            amps = a.wanted.feeds[feed.name]
            if feed.wire:
                rows.append(
                    f"  feed {feed.name}: {amps:.2f} A through {feed.wire}, "
                    f"{_fuse(feed.fuse, amps)}{_flows(amps, a.feeds[feed.name])}"
                )
        for w in a.wires:
            if w.kind in ("string", "bus") and w.may is not None:
                rows.append(
                    f"  {w.kind} {w.owner}: at most {w.wanted:.2f} A through {w.size} "
                    f"(may carry {w.may:g} A), {show_about(w.at, self.site.house.unit)} along it"
                    + _flows(w.wanted, w.amps)
                )
            if w.kind == "tie":
                flows = _flows(w.wanted, w.amps)
                rows.append(f"  ties of {w.owner}: at most {w.wanted:.2f} A{flows}")
        rows += [
            f"  line {line.name}: lowest {line.lowest:.2f} V at pixel {line.pixel}, "
            f"{show_about(line.at, self.site.house.unit)} along the line"
            + (f"; {some(line.short, 'pixel')} below the minimum" if line.short else "")
            for line in a.lines
        ]
        return rows


def _fuse(fuse: float | None, amps: float) -> str:
    if fuse is None:
        return "no fuse"
    text = f"fuse {fuse:g} A" + (f" ({BLADES[fuse]})" if fuse in BLADES else "")
    if amps <= continuous_load(fuse) * (1 + 1e-9):
        return text
    return f"{text}, which carries {continuous_load(fuse):g} A for hours"


def _flows(wanted: float, flows: float) -> str:
    """Return what flows where the volts are too low for what is wanted, if that is less."""
    return f"; {flows:.2f} A flow, as the voltage falls" if flows < STARVED * wanted else ""


def _case(a: Analysis) -> dict[str, Any]:
    return {
        "title": a.title,
        "supplies": a.supplies,
        "feeds": a.feeds,
        "trunks": a.flowing.trunks,
        "taps": a.flowing.taps,
        "wanted": asdict(a.wanted),
        "wires": [asdict(w) for w in a.wires],
        "lines": [asdict(line) for line in a.lines],
        "drawn_watts": a.drawn_watts,
        "lost_watts": a.lost_watts,
        "volts": [round(float(v), 4) for v in a.volts],
    }


def power_report(site: Site, show: ShowTrace | None = None) -> PowerReport:
    """Analyse a site at full white and, if a show is given, at its frame of lowest voltage."""
    full = full_white(site.pixels)
    white = analyse(site, full, "Full white everywhere")
    codes = limit(full.astype(np.float32) / np.float32(255), site.budgets).codes
    limited = None
    if codes.min() < 255:
        title = f"White within the budgets, at {100 * (codes.mean() / 255):.0f} %"
        limited = analyse(site, codes, title)
    worst = None
    if show is not None:
        title = (
            f"{show.title}, frame {show.frame} at {show.frame / show.fps:.2f} s (lowest voltage)"
        )
        worst = analyse(site, show.lowest, title)
    return PowerReport(site, white, limited, worst, show, tuple(findings(site, white)))
