"""Volts: pixels of a higher voltage, which take less current, and a supply for them."""

from __future__ import annotations

from dataclasses import replace

from lumenmap.house.supplies import Supply
from lumenmap.parts.fuses import OF_LABEL
from lumenmap.parts.kinds import PIXEL_KINDS
from lumenmap.power.feeding.groundwork.bill import PIXEL, bill, supply_price
from lumenmap.power.feeding.groundwork.ground import Ground
from lumenmap.power.feeding.groundwork.plan import NoPlanError, Plan
from lumenmap.power.feeding.kinds.ends import label_for
from lumenmap.power.feeding.kinds.sections import plan as sections
from lumenmap.power.feeding.kinds.trunk import plan as trunk
from lumenmap.site import Site

#: The kind that is offered to houses of lower voltage.
HIGHER = "ws2811-12v"
WHAT = f"pixels of kind {HIGHER} and a supply for them, in sections or on a trunk"


def plan(ground: Ground) -> Plan:
    """Return the cheaper of sections and trunk with pixels of a higher voltage.

    Raises
    ------
    NoPlanError
        The house has such pixels, or pixels of four channels; or what can't be fed so either.
    """
    kind, house = PIXEL_KINDS[HIGHER], ground.site.house
    if house.kind.volts >= kind.volts or house.kind.channels != kind.channels:
        raise NoPlanError(
            f"no kind of {house.kind.channels} channels has more volts than {house.kind.name}"
        )
    each = (ground.level * sum(kind.channel_ma) + kind.idle_ma) / 1000
    supplies, bought = [], []
    for name in dict.fromkeys(s.supply.name for s in ground.stretches):
        count = sum(s.last + 1 - s.first for s in ground.stretches if s.supply.name == name)
        label = label_for(each * count)
        new = f"{name} of {kind.volts:g} V"
        supplies.append(Supply(new, kind.volts, OF_LABEL * label, label))
        bought.append((f"supply {new}", 1, supply_price(kind.volts, label)))
    bought.append(("pixel", len(ground.site.pixels), PIXEL))
    own = {s.name: s for s in supplies}
    parts = tuple(
        replace(s, supply=own[f"{s.supply.name} of {kind.volts:g} V"]) for s in ground.stretches
    )
    site = Site(
        replace(house, kind=kind, supplies=tuple(supplies)),
        replace(ground.site.pixels, kind=kind),
    )
    fed = _cheaper(replace(ground, site=site, parts=parts))
    return replace(
        fed,
        name="volts",
        kind=kind,
        bought=tuple(bought),
        notes=(
            f"volts: all {len(ground.site.pixels)} pixels new, of kind {kind.name} in strings like "
            "yours; many such strings have three LEDs to a pixel and a different spacing.",
        ),
    )


def _cheaper(ground: Ground) -> Plan:
    found: list[Plan] = []
    why = ""
    for make in (sections, trunk):
        try:
            found.append(make(ground))
        except NoPlanError as error:
            why = str(error)
    if not found:
        raise NoPlanError(why)
    return min(found, key=lambda p: bill(ground.site, p).money)
