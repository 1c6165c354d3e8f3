"""Checks for the sheets: each fuse against the wire behind it, and the power findings."""

from __future__ import annotations

from dataclasses import dataclass, field

from lumenmap.core.errors import InputError
from lumenmap.house.supplies import Feed
from lumenmap.parts.fuses import BLADES, largest_fuse
from lumenmap.power.report.analysis import analyse, full_white
from lumenmap.power.report.findings import findings
from lumenmap.power.verdict.fusing import feed_point, thinnest_behind
from lumenmap.site import Site


@dataclass(frozen=True, slots=True)
class FuseCheck:
    """A feed's fuse and the wire of least ampacity behind it.

    Attributes
    ----------
    number, feed
        The feed, and its number in the pictures, from 1.
    wire, part
        Size of the thinnest wire behind the fuse, and what it is part of.
    ampacity
        By the house's ampacity table (A).
    """

    number: int
    feed: Feed
    wire: str
    part: str
    ampacity: float

    @property
    def protects(self) -> bool:
        """Whether there is a fuse, and no larger than the ampacity of the wire behind it."""
        return self.feed.fuse is not None and self.feed.fuse <= self.ampacity

    @property
    def fuse(self) -> str:
        """The fuse, and what is wrong with it."""
        if self.feed.fuse is None:
            return f"NONE: {self._remedy}"
        colour = BLADES.get(self.feed.fuse)
        text = f"{self.feed.fuse:g} A" + (f" ({colour})" if colour else "")
        return text if self.protects else f"{text}: TOO LARGE, {self._remedy}"

    @property
    def problem(self) -> str:
        """What is wrong and what to do, in sentences; empty if nothing is."""
        if self.protects:
            return ""
        fuse = self.feed.fuse
        has = "no fuse to" if fuse is None else f"a fuse of {fuse:g} A, which doesn't"
        return (
            f'F{self.number}, "{self.feed.name}", has {has} protect {self.part}: {self.wire} '
            f"may carry {self.ampacity:g} A. Before you switch on, {self._remedy}."
        )

    @property
    def _remedy(self) -> str:
        best = largest_fuse(self.ampacity)
        if best:
            return f"put at most {best:g} A at the supply end"
        return "use thicker wire (no blade fuse is small enough)"


@dataclass(frozen=True, slots=True)
class PowerCheck:
    """The fuses and the power findings of a site.

    Attributes
    ----------
    fusings
        By the name of the feed; empty if the wiring can't be analysed.
    warnings
        The findings of the power report, at full white.
    table
        The ampacity table that was used.
    dangers
        Why no command lights the house, besides those fuses: a sentence each.
    """

    fuse_checks: dict[str, FuseCheck] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()
    table: str = ""
    dangers: tuple[str, ...] = ()

    @property
    def unprotected(self) -> list[FuseCheck]:
        """The checks of fuses that don't protect the wire behind them."""
        return [f for f in self.fuse_checks.values() if not f.protects]


def check_power(site: Site) -> PowerCheck:
    """Analyse the wiring at full white and check every fuse.

    Wiring that can't be analysed is a warning, not an error: rails can be drilled all the same.
    """
    house = site.house
    table = house.wire_defaults.ampacity
    try:
        white = analyse(site, full_white(site.pixels), "Full white everywhere")
        found = findings(site, white)
        fuse_checks = {}
        for number, feed in enumerate(house.feeds, 1):
            thin = thinnest_behind(site.wiring, feed_point(site.wiring, feed.name))
            fuse_checks[feed.name] = FuseCheck(number, feed, thin.size, thin.what, thin.amps)
    except InputError as error:
        where = f"{error.key}: " if error.key else ""
        text = f"The wiring and the fuses can't be checked: {where}{error.message}"
        return PowerCheck({}, (text,), table, _dangers(site, {}))
    return PowerCheck(fuse_checks, tuple(map(str, found)), table, _dangers(site, fuse_checks))


def _dangers(site: Site, fuse_checks: dict[str, FuseCheck]) -> tuple[str, ...]:
    try:
        dangers = site.verdict.dangers
    except InputError:  # it is told as what can't be checked
        return ()
    own = {"no-fuse", "fuse-too-large"}
    return tuple(str(d) for d in dangers if not (d.code in own and d.of in fuse_checks))
