"""`Plan`: one way to wire a house, and the house wired so."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lumenmap.house.supplies import Bus, Feed, Supply, Tap, Trunk
from lumenmap.parts.kind import PixelKind
from lumenmap.site import Site


class NoPlanError(Exception):
    """A kind of plan can't give so much light; the text says why."""


@dataclass(frozen=True, slots=True)
class Plan:
    """What a plan puts in place of a house's supplies, feeds, trunks, taps, buses and cuts.

    Attributes
    ----------
    name
        The kind of plan: ``sections``.
    supplies, feeds, trunks, taps, buses
        All that there are then.
    cuts
        The cuts of each line, by its name.
    kind
        Other pixels, if it needs them.
    bought
        Supplies and pixels to buy: what, how many, and its price if the owner gives none.
    notes
        Sentences for the owner.
    """

    name: str
    supplies: tuple[Supply, ...]
    feeds: tuple[Feed, ...] = ()
    trunks: tuple[Trunk, ...] = ()
    taps: tuple[Tap, ...] = ()
    buses: tuple[Bus, ...] = ()
    cuts: tuple[tuple[str, tuple[str, ...]], ...] = ()
    kind: PixelKind | None = None
    bought: tuple[tuple[str, int, float], ...] = ()
    notes: tuple[str, ...] = ()

    def site(self, site: Site) -> Site:
        """Return a site wired by this plan."""
        cuts, kind = dict(self.cuts), self.kind or site.house.kind
        house = replace(
            site.house,
            supplies=self.supplies,
            feeds=self.feeds,
            trunks=self.trunks,
            taps=self.taps,
            buses=self.buses,
            lines=tuple(replace(x, cuts=cuts.get(x.name, ())) for x in site.house.lines),
            kind=kind,
        )
        wired = Site(house, replace(site.pixels, kind=kind))
        wired.__dict__["places"] = site.places  # nothing moves
        return wired

    def joined(self, other: Plan) -> Plan:
        """Return a plan with the wires of both; supplies and name are those of this one."""
        cuts = dict(self.cuts)
        for line, own in other.cuts:
            cuts[line] = (*cuts.get(line, ()), *own)
        return replace(
            self,
            feeds=self.feeds + other.feeds,
            trunks=self.trunks + other.trunks,
            taps=self.taps + other.taps,
            buses=self.buses + other.buses,
            cuts=tuple(cuts.items()),
            notes=self.notes + tuple(n for n in other.notes if n not in self.notes),
        )
