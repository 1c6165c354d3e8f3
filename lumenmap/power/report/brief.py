"""The short power report: what binds, the shows that exist, and the findings that matter for them.

Strategy: a person reads one screen. So figures at full white matter only as far as a show gets
there, and everything else is a number of lines to ask for.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.wording import listed
from lumenmap.power.report.analysis import analyse
from lumenmap.power.report.binding import Binding, binding
from lumenmap.power.report.report import STARVED, PowerReport, ShowTrace
from lumenmap.power.verdict.finding import Finding, Subject, merged
from lumenmap.site import Site

#: Lines of the short report, the last one included that says where the rest is.
MOST_LINES = 20


@dataclass(frozen=True, slots=True)
class ShowDraw:
    """What matters of a show's currents.

    Attributes
    ----------
    name, file
        Its title, and its file's name.
    dimmed, frames, least_gain
        Frames that were dimmed, all frames, and the gain of the darkest (0..1).
    budget, peak, amps
        The budget that it wants most of, relative to its limit; what it draws of it, and the limit
        (A).
    lowest, short, line
        The lowest voltage at a pixel, how many pixels are then below their minimum, and on which
        line.
    """

    name: str
    file: str
    dimmed: int
    frames: int
    least_gain: float
    budget: str
    peak: float
    amps: float
    lowest: float
    short: int
    line: str

    @classmethod
    def of(
        cls,
        site: Site,
        traced: ShowTrace,
        file: str,
        gains: tuple[int, float],
        demand: NDArray[np.float64],
    ) -> ShowDraw:
        """Return the figures of a trace.

        Parameters
        ----------
        gains
            Frames dimmed, and the lowest gain.
        demand
            (K,) A of each budget at the most, undimmed.
        """
        worst = analyse(site, traced.lowest, "")
        low = min(worst.lines, key=lambda line: line.lowest)
        k = int((demand / site.budgets.amps).argmax())
        return cls(
            traced.title,
            file,
            gains[0],
            len(traced.amps),
            gains[1],
            f"{site.budgets.kinds[k]} {site.budgets.names[k]}",
            float(traced.amps[:, k].max()),
            float(site.budgets.amps[k]),
            low.lowest,
            sum(line.short for line in worst.lines),
            low.name,
        )

    def __str__(self) -> str:
        runs = (
            "runs undimmed"
            if not self.dimmed
            else f"{self.dimmed:,} of {self.frames:,} frames dimmed, the darkest to "
            f"{100 * self.least_gain:.0f} %"
        )
        return (
            f"{self.file}: {runs}; at most {self.peak:.2f} A of {self.amps:g} A through "
            f"{self.budget}; lowest {self.lowest:.2f} V"
        )

    def finding(self, needs: float) -> Finding | None:
        """Return that pixels get too few volts in this show, if they do; ``needs`` V."""
        if not self.short:
            return None
        return Finding(
            "undervoltage",
            "warning",
            (
                Subject(
                    self.file,
                    "show",
                    f"{_many(self.short, 'pixel')}, {self.lowest:.2f} V at "
                    f'the lowest, on line "{self.line}"',
                ),
            ),
            f"pixels get less than the {needs:g} V they need. White turns warm and dim there.",
            "Feed the line there too, or use thicker wire.",
        )


@dataclass(frozen=True, slots=True)
class Brief:
    """The short report on a house and the shows next to it."""

    power: PowerReport
    bound: Binding
    shows: tuple[ShowDraw, ...]
    left: tuple[str, ...]

    @classmethod
    def of(
        cls, power: PowerReport, shows: Sequence[ShowDraw] = (), left: Sequence[str] = ()
    ) -> Brief:
        """Return the short report; ``left`` says what wasn't measured."""
        return cls(power, binding(power.site), tuple(shows), tuple(left))

    @property
    def matter(self) -> list[Finding]:
        """The findings that matter: dangers, and warnings about what the shows do."""
        needs = self.power.site.house.kind.min_volts
        found = [f for f in self.power.findings if f.severity != "note"]
        if self.shows:
            found = [f for f in found if f.code != "undervoltage"]
            found += merged(f for show in self.shows if (f := show.finding(needs)))
        return found

    def report(self) -> dict[str, Any]:
        """Return the figures as plain data."""
        return {
            "binding": asdict(self.bound),
            "shows": [asdict(show) for show in self.shows],
            "matter": [f.report() for f in self.matter],
        }

    def lines(self, folder: str) -> list[str]:
        """Return the report as it is printed; ``folder`` is what the user named."""
        site, matter = self.power.site, self.matter
        rows = [
            self.bound.sentence,
            *(f"{f.severity.upper()}: {f}" for f in matter if f.severity == "danger"),
            *(f"ACCEPTED: {a}" for a in site.verdict.accepted),
            f"{site.house.name}: {len(site.pixels):,} pixels of kind {site.house.kind.name}, "
            f"{site.house.kind.volts:g} V.",
            *self._supplies(),
            *map(str, self.shows),
            *self.left,
            *(f"{f.severity.upper()}: {f}" for f in matter if f.severity != "danger"),
            *self._assumed(),
            *(f"NOTE: {note}" for note in site.pixels.notes),
            "Unplug before you touch wiring, and never replace a blown fuse with a larger one.",
        ]
        kept = rows[: MOST_LINES - 2]
        hidden = [f for f in self.power.findings if f not in matter]
        white = sum(f.severity == "warning" for f in hidden)
        other = len(rows) - len(kept) + len(hidden) - white
        more = [_many(white, "warning", " at full white"), _many(other, "more finding")]
        adds = listed([*filter(None, more), "full white in detail", "sources", "cautions"])
        if self.bound.kind or any(f.severity == "warning" for f in matter):
            kept.append(f"lumenmap power {folder} --suggest compares ways to feed it.")
        return [*kept, f"lumenmap power {folder} --all adds {adds}."]

    def _assumed(self) -> list[str]:
        """Return how many things are assumed, or the one."""
        assumed = self.power.site.assumptions
        if len(assumed) < 2:
            return [f"ASSUMED: {text}" for text in assumed]
        return [f"ASSUMED: {len(assumed)} things about the wiring; --all lists them."]

    def _supplies(self) -> list[str]:
        """Return what full white takes of each supply: what the pixels want, not what they get."""
        rows = []
        white = self.power.white
        for supply in self.power.site.house.supplies:
            wanted, flows = white.wanted.supplies[supply.name], white.supplies[supply.name]
            starved = (
                f"; {flows:.2f} A would flow, since the voltage falls too low"
                if flows < STARVED * wanted
                else ""
            )
            rows.append(
                f"Full white takes {wanted:.2f} A of supply {supply.name}, which gives "
                f"{supply.amps:g} A{starved}."
            )
        return rows


def _many(count: int, name: str, what: str = "") -> str:
    """Return how many there are of something, or nothing if there are none."""
    return f"{count} {name}{'s' if count > 1 else ''}{what}" if count > 0 else ""
