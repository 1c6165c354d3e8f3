"""Sections: the positive cut between the feeds, so that each section has one wire and one fuse."""

from __future__ import annotations

from lumenmap.house.supplies import Feed
from lumenmap.power.feeding.groundwork.divide import cuts, divide, fed_alone
from lumenmap.power.feeding.groundwork.ground import Ground
from lumenmap.power.feeding.groundwork.plan import Plan
from lumenmap.power.feeding.groundwork.stretch import Stretch

WHAT = "the plus wire cut into sections, each with a feed of its own from the supply"


def plan(ground: Ground) -> Plan:
    """Return the cheapest sections of every line.

    Raises
    ------
    NoPlanError
        Some pixels can't be fed so.
    """
    return ground.plan_each("sections", lambda stretch: _of(ground, stretch))


def _of(ground: Ground, stretch: Stretch) -> Plan:
    room = ground.room(stretch.supply)
    sections = divide(stretch, fed_alone(ground, stretch, lambda _: room, lambda joint: joint.lead))
    feeds = tuple(
        Feed(
            f"{stretch.line} {s.first + 1}-{s.last + 1}",
            stretch.supply.name,
            stretch.line,
            s.joint.text,
            s.wire.name,
            s.joint.lead,
            s.fuse,
        )
        for s in sections
    )
    own = cuts(sections)
    return Plan("", (), feeds, cuts=((stretch.line, own),) if own else ())
