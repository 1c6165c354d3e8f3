"""Ends: two smaller supplies, one at each end of every line, and sections fed from the nearer."""

from __future__ import annotations

from dataclasses import replace

from lumenmap.house.supplies import Supply
from lumenmap.parts.fuses import OF_LABEL
from lumenmap.power.feeding.groundwork.bill import supply_price
from lumenmap.power.feeding.groundwork.ground import Ground
from lumenmap.power.feeding.groundwork.leads import Leads, lead_in, show_lead_in
from lumenmap.power.feeding.groundwork.plan import NoPlanError, Plan
from lumenmap.power.feeding.groundwork.stretch import Stretch, stretch
from lumenmap.power.feeding.kinds.sections import plan as sections
from lumenmap.site import Site

WHAT = "two smaller supplies, one at each end of the line, and sections from the nearer one"
#: Amps on the labels of supplies that are sold: common practice, no source.
LABELS = (2, 3, 4, 5, 8, 10, 12, 15, 20, 30, 40, 50, 60, 80, 100)


class _Near(Leads):
    """Lead-ins from a supply within reach of its end of the line."""

    def metres(self, supply: str, line: str, along: float) -> float:
        length = self.site.places[line].span.length
        reach = lead_in(self.site.house.unit)
        return reach + (along if supply.endswith(" start") else length - along)


def label_for(amps: float) -> float:
    """Return the label (A) of the smallest supply sold that gives so much for hours.

    Raises
    ------
    NoPlanError
        None does.
    """
    for label in LABELS:
        if OF_LABEL * label >= amps - 1e-9:
            return float(label)
    raise NoPlanError(f"no supply that is commonly sold gives {amps:.1f} A for hours")


def plan(ground: Ground) -> Plan:
    """Return sections fed from new supplies at both ends of every line.

    Raises
    ------
    NoPlanError
        A line of one pixel, or what can't be fed so either.
    """
    site = ground.site
    found: list[Stretch] = []
    supplies: list[Supply] = []
    bought = []
    for line, places in site.places.items():
        count = places.span.count
        if count < 2:
            raise NoPlanError(f'line "{line}" has one pixel')
        middle = count // 2
        for end, first, last in (("start", 0, middle - 1), ("end", middle, count - 1)):
            label = label_for(ground.pixel_amps * (last + 1 - first))
            name = f"{line} {end}"
            supplies.append(Supply(name, site.house.kind.volts, OF_LABEL * label, label))
            bought.append((f"supply {name}", 1, supply_price(site.house.kind.volts, label)))
            part = (first, last)
            own = stretch(site, line, supplies[-1], part, _Near(site), ground.anywhere)
            found.append(own)
    fed = sections(replace(ground, parts=tuple(found)))
    return Plan(
        "ends",
        tuple(supplies),
        fed.feeds,
        cuts=fed.cuts,
        bought=tuple(bought),
        notes=(
            f"ends: new supplies, each within {show_lead_in(site.house.unit)} of its end of the "
            "line, where it needs mains and a dry place that may be reached; "
            f"{_named(site)} of today {'is' if len(site.house.supplies) == 1 else 'are'} left out.",
        ),
    )


def _named(site: Site) -> str:
    names = " and ".join(f'"{s.name}"' for s in site.house.supplies)
    return f"{'supply' if len(site.house.supplies) == 1 else 'supplies'} {names}"
