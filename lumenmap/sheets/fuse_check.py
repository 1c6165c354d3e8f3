"""What the verdict and the power report say of a site's wires, by the marks of the sheets."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lumenmap.core.errors import InputError
from lumenmap.core.wording import listed
from lumenmap.power.circuit.wiring import FusePoint
from lumenmap.power.report.analysis import analyse, full_white
from lumenmap.power.report.findings import findings
from lumenmap.power.verdict.finding import Finding
from lumenmap.power.verdict.fusing import Thinnest, thinnest_behind
from lumenmap.sheets.wires.leads import Lead, leads, show_fuse
from lumenmap.site import Site

#: The verdict's findings about one fuse.
_FUSE = {"no-fuse": "NONE", "fuse-too-large": "TOO LARGE"}


@dataclass(frozen=True, slots=True)
class FuseCheck:
    """A fuse, or the place for one, and what the verdict says of it.

    Attributes
    ----------
    lead
        The wire that it is in.
    thin
        The wire of least ampacity behind it.
    finding
        What is dangerous about it, if anything is.
    reason
        Why the house file accepts that; empty if it doesn't.
    """

    lead: Lead
    thin: Thinnest
    finding: Finding | None = None
    reason: str = ""

    @property
    def stands(self) -> bool:
        """Whether the finding is a danger that isn't accepted."""
        return self.finding is not None and not self.reason

    @property
    def fuse(self) -> str:
        """The fuse, and what is wrong with it."""
        if self.finding is None:
            return show_fuse(self.lead.fuse)
        wrong = _FUSE[self.finding.code]
        text = wrong if self.lead.fuse is None else f"{show_fuse(self.lead.fuse)}: {wrong}"
        return f"{text}; accepted" if self.reason else f"{text}. {self.finding.remedy}"


@dataclass(frozen=True, slots=True)
class PowerCheck:
    """The fuses and the power findings of a site.

    Attributes
    ----------
    leads
        Every pair of wires.
    fuse_checks
        By the mark of the wire; empty if the wiring can't be analysed.
    warnings, notes
        The findings of the power report at full white: what matters, and what is worth knowing.
    table
        The ampacity table that was used.
    dangers
        Why no command lights the house: a sentence each, with the mark of the wire.
    """

    leads: tuple[Lead, ...]
    fuse_checks: dict[str, FuseCheck]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]
    table: str
    dangers: tuple[str, ...]

    @property
    def unprotected(self) -> list[FuseCheck]:
        """The checks of fuses that don't protect the wire behind them, accepted ones too."""
        return [f for f in self.fuse_checks.values() if f.finding is not None]

    @property
    def doubts(self) -> list[str]:
        """The warnings that aren't dangers, which are told by themselves."""
        return [w for w in self.warnings if not any(d.endswith(w) for d in self.dangers)]


def check_power(site: Site) -> PowerCheck:
    """Analyse the wiring at full white, and look up the verdict on every fuse.

    Wiring that can't be analysed is a warning, not an error: rails can be drilled all the same.
    """
    table = site.house.wire_defaults.ampacity
    own = tuple(leads(site))
    try:
        found = findings(site, analyse(site, full_white(site.pixels), "Full white everywhere"))
        checks = {c.lead.mark: c for c in _checks(site, own)}
    except InputError as error:
        where = f"{error.key}: " if error.key else ""
        text = f"The wiring and the fuses can't be checked: {where}{error.message}"
        return PowerCheck(own, {}, (text,), (), table, _dangers(site, own))
    matter = tuple(str(f) for f in found if f.severity != "note")
    notes = tuple(str(f) for f in found if f.severity == "note")
    return PowerCheck(own, checks, matter, notes, table, _dangers(site, own))


def _checks(site: Site, own: tuple[Lead, ...]) -> Iterator[FuseCheck]:
    points: dict[tuple[str, str], list[FusePoint]] = {}
    for point in site.wiring.fuses:
        points.setdefault((point.kind, point.owner), []).append(point)
    told = [(f, "") for f in site.verdict.dangers]
    told += [(a.finding, a.reason) for a in site.verdict.accepted]
    said = {(f.code, name): (f, reason) for f, reason in told for name in f.names}
    for lead in own:
        if lead.kind == "bus":
            continue
        point = points[lead.kind, lead.name].pop(0)
        rows = [said[code, lead.name] for code in _FUSE if (code, lead.name) in said]
        finding, reason = rows[0] if rows else (None, "")
        yield FuseCheck(lead, thinnest_behind(site.wiring, point), finding, reason)


def _dangers(site: Site, own: tuple[Lead, ...]) -> tuple[str, ...]:
    """Return the verdict's dangers, each with the marks of the wires that it is about."""
    try:
        dangers = site.verdict.dangers
    except InputError:  # it is told as what can't be checked
        return ()
    marks = {lead.name: lead.mark for lead in reversed(own) if lead.kind != "tie"}
    rows = []
    for danger in dangers:
        mine = [marks[n] for n in danger.names if danger.code in _FUSE and n in marks]
        rows.append(f"{listed(mine)}: {danger}" if mine else str(danger))
    return tuple(rows)
