"""Bus: in each section a pair beside the string, tied to it at its connectors, and one feed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from lumenmap.house.supplies import Bus, Feed
from lumenmap.parts.wires import Wire
from lumenmap.power.feeding.groundwork.divide import Choices, cuts, divide
from lumenmap.power.feeding.groundwork.ground import Ground, Section
from lumenmap.power.feeding.groundwork.line_model import LineModel
from lumenmap.power.feeding.groundwork.plan import Plan
from lumenmap.power.feeding.groundwork.stretch import Joint, Stretch

WHAT = "sections with one feed each, and a pair beside the string tied at its connectors"
#: Conductors side by side along a line with a bus: its own pair and the string's.
_TOGETHER = 4


def plan(ground: Ground) -> Plan:
    """Return the cheapest sections with buses of every line.

    Raises
    ------
    NoPlanError
        Some pixels can't be fed so.
    """
    return ground.plan_each(
        "bus", lambda stretch: _built(stretch, divide(stretch, _choices(ground, stretch)))
    )


def _choices(ground: Ground, stretch: Stretch) -> Choices:
    room, each = ground.room(stretch.supply), ground.pixel_amps
    string, tie = ground.may(ground.string, _TOGETHER), ground.prices.connector
    outlet = ground.prices.fuse + tie
    carry = [(w, ground.may(w), ground.prices.pair(w.name, 1.0)) for w in ground.stock]
    buses = [
        (w, min(string, ground.may(w, _TOGETHER)), ground.prices.pair(w.name, 1.0))
        for w in ground.along
    ]

    def choices(first: int, last: int) -> Iterator[Section]:
        joints = stretch.inside(first, last)
        amps = each * (last + 1 - first)
        if len(joints) < 2 or ground.fuse(amps, string) is None:
            return
        length = joints[-1].along - joints[0].along
        for bus, limit, dear in buses:
            fuse = ground.fuse(amps, limit)
            if fuse is None:
                continue
            drops = _drops(ground, stretch, (first, last), joints, bus)
            for joint, drop in zip(joints, drops, strict=True):
                if drop >= room:
                    continue
                for size, may, price in carry:
                    own = amps * ground.lead_ohms(size, joint.lead, joint.plug)
                    if fuse <= may and own + drop <= room:
                        money = price * joint.lead + outlet + dear * length + tie * len(joints)
                        yield Section(first, last, joint, size, fuse, money, bus)
                        break

    return choices


def _drops(
    ground: Ground, stretch: Stretch, part: tuple[int, int], joints: list[Joint], bus: Wire
) -> list[float]:
    """Return the V that string and bus drop if fed at each joint."""
    key = (part, bus.name)
    if key not in stretch.known:
        stretch.known[key] = _each_ampere(ground, stretch, part, joints, bus)
    return [ground.pixel_amps * drop for drop in stretch.known[key]]


def _each_ampere(
    ground: Ground, stretch: Stretch, part: tuple[int, int], joints: list[Joint], bus: Wire
) -> tuple[float, ...]:
    """Return the same for each ampere of a pixel."""
    celsius = ground.site.house.wire_defaults.celsius
    first, last = part
    own = stretch.ohms[first : last + 1]
    links = np.maximum(np.diff(own), 1e-9)
    low, high = joints[0], joints[-1]
    # The bus's ohms, spread along the string as the string's are.
    part_of = 2 * bus.ohms(high.along - low.along, celsius) / max(high.ohms - low.ohms, 1e-9)
    middle = (own[1:] + own[:-1]) / 2
    beside = (middle > low.ohms) & (middle < high.ohms)
    links = np.where(beside, links * part_of / (1 + part_of), links)
    model = LineModel(own, links, 1.0)
    at = [min(max(j.pixel, first), last) - first for j in joints]
    return tuple(float(model.feed(np.array([k], np.intp), np.array([1e-6]))[0].max()) for k in at)


def _built(stretch: Stretch, sections: list[Section]) -> Plan:
    feeds, buses = [], []
    for s in sections:
        assert s.extra
        name = f"{stretch.line} {s.first + 1}-{s.last + 1}"
        joints = stretch.inside(s.first, s.last)
        ties = tuple(j.text for j in joints)
        at = (stretch.supply.name, stretch.line, s.joint.text, s.wire.name, s.joint.lead, s.fuse)
        feeds.append(Feed(name, *at))
        buses.append(Bus(f"{name} bus", stretch.line, s.extra.name, ties[0], ties[-1], None, ties))
    own = cuts(sections)
    return replace(
        Plan("", (), tuple(feeds), buses=tuple(buses)),
        cuts=((stretch.line, own),) if own else (),
    )
