"""As it is: the wiring there is, held to the white that it can give."""

from __future__ import annotations

from lumenmap.power.feeding.groundwork.ground import Ground
from lumenmap.power.feeding.groundwork.plan import NoPlanError, Plan

WHAT = "the wiring there is, held to what it can give"


def plan(ground: Ground) -> Plan:
    """Return the wiring there is; how much light it gives is for the solver to say.

    Raises
    ------
    NoPlanError
        It can't be solved, or is dangerous.
    """
    site, house = ground.site, ground.site.house
    if site.verdict.dangers:
        raise NoPlanError(f"dangerous: {site.verdict.dangers[0].sentence}")
    if not (house.feeds or house.trunks):
        raise NoPlanError("the house file has no feed")
    return Plan(
        "as-is",
        house.supplies,
        house.feeds,
        house.trunks,
        house.taps,
        house.buses,
        tuple((x.name, x.cuts) for x in house.lines if x.cuts),
    )
