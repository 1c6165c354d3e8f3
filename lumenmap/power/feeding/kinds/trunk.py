"""Trunk: a heavy pair along the line, with a tap and a fuse of its own to each section.

Strategy: the load is spread along a trunk much as the pixels are, so what it drops up to each joint
is known before the taps are chosen; then each section is chosen by itself. One trunk is tried for
each stretch, then two, each for its part of the line, and so on.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from lumenmap.house.supplies import Tap, Trunk
from lumenmap.parts.wires import Wire
from lumenmap.power.feeding.groundwork.divide import cuts, divide, fed_alone
from lumenmap.power.feeding.groundwork.ground import Ground, Section
from lumenmap.power.feeding.groundwork.plan import NoPlanError, Plan
from lumenmap.power.feeding.groundwork.stretch import Joint, Stretch

WHAT = "heavy pairs along the line; at each section of the cut plus wire a tap with its own fuse"
#: More trunks than this on a stretch aren't tried: our choice.
_MOST = 6
#: A tap joins a connector's tail, which takes no thicker wire than this (mm2): common practice.
_THICKEST_TAP = 2.5
#: Conductors counted along a line: two of the string, and two of each trunk.
_PAIR = 2


@dataclass(frozen=True, slots=True)
class _Run:
    """A trunk from a joint to another, its size and fuse, its sections, and what it costs."""

    start: Joint
    stop: Joint
    wire: Wire
    fuse: float
    sections: list[Section]
    money: float


def plan(ground: Ground) -> Plan:
    """Return the cheapest trunks of every line.

    Raises
    ------
    NoPlanError
        Some pixels can't be fed so.
    """
    return ground.plan_each("trunk", lambda stretch: _of(ground, stretch))


def _of(ground: Ground, stretch: Stretch) -> Plan:
    best: list[_Run] = []
    for count in range(1, _MOST + 1):
        runs = [_cheapest(ground, part, _PAIR * (1 + count)) for part in _parts(stretch, count)]
        good = [r for r in runs if r is not None]
        if len(good) < len(runs):
            continue
        if best and sum(r.money for r in good) >= sum(r.money for r in best):
            break
        best = good
    if not best:
        raise NoPlanError(f'no trunk carries the load of line "{stretch.line}" within its volts')
    return _built(ground, stretch, best)


def _parts(stretch: Stretch, count: int) -> Iterator[Stretch]:
    """Yield a stretch in so many parts of about as many pixels, each with its own joints."""
    size = stretch.last + 1 - stretch.first
    aims = [stretch.first + round(size * k / count) for k in range(1, count)]
    inner = sorted({min(stretch.cuts, key=lambda c: abs(c - aim)) for aim in aims if stretch.cuts})
    starts = [stretch.first, *inner]
    for first, stop in zip(starts, [*inner, stretch.last + 1], strict=True):
        yield replace(
            stretch,
            first=first,
            last=stop - 1,
            cuts=tuple(c for c in stretch.cuts if first < c < stop),
            joints=tuple(stretch.inside(first, stop - 1)),
        )


def _cheapest(ground: Ground, part: Stretch, together: int) -> _Run | None:
    if not part.joints:
        return None
    found = []
    for size in ground.along:
        # From either end of the part, whichever the supply's wire reaches sooner first.
        for joints in (part.joints, part.joints[::-1]):
            run = _run(ground, part, size, joints, together)
            found += [run] if run is not None else []
    return min(found, key=lambda r: r.money, default=None)


def _run(
    ground: Ground, part: Stretch, size: Wire, joints: tuple[Joint, ...], together: int
) -> _Run | None:
    """Return a trunk of one size from the first joint to the last, or None."""
    amps = ground.pixel_amps * (part.last + 1 - part.first)
    may = ground.may(size, together)
    fuse = ground.fuse(amps, may)
    if fuse is None:
        return None
    start = joints[0]
    drops = _dropped(ground, part, size, joints)
    room = ground.room(part.supply)
    try:
        sections = divide(
            part,
            fed_alone(
                ground,
                part,
                lambda joint: room - drops.get(joint.text, room),
                lambda _: ground.tap,
                together,
                _THICKEST_TAP,
            ),
        )
    except NoPlanError:
        return None
    used = [joint for joint in joints if any(s.joint is joint for s in sections)]
    stop = used[-1]
    if stop is start:
        # Nothing runs along the line: a feed does the same.
        if len(joints) < 2:
            return None
        stop = joints[1]
    length = start.lead + abs(stop.along - start.along)
    money = ground.prices.pair(size.name, length) + ground.prices.fuse
    return _Run(start, stop, size, fuse, sections, money + sum(s.money for s in sections))


def _dropped(
    ground: Ground, part: Stretch, size: Wire, joints: tuple[Joint, ...]
) -> dict[str, float]:
    """Return the V that a trunk drops up to each joint."""
    each, total = ground.pixel_amps, part.last + 1 - part.first
    drop = ground.lead_ohms(size, joints[0].lead) * each * total
    found = {joints[0].text: drop}
    at = np.array([j.pixel for j in joints])
    for k in range(1, len(joints)):
        # Pixels beyond the middle between two joints hang on a later one.
        middle = (at[k - 1] + at[k] + 1) / 2
        rest = part.last + 1 - middle if at[-1] >= at[0] else middle - part.first
        apart = abs(joints[k].along - joints[k - 1].along)
        loop = 2 * size.ohms(apart, ground.site.house.wire_defaults.celsius)
        drop += loop * each * max(0.0, rest)
        found[joints[k].text] = drop
    return found


def _built(ground: Ground, stretch: Stretch, runs: list[_Run]) -> Plan:
    trunks, taps = [], []
    sections = sorted((s for r in runs for s in r.sections), key=lambda s: s.first)
    for number, r in enumerate(runs, 1):
        name = f"{stretch.line} trunk {number}" if len(runs) > 1 else f"{stretch.line} trunk"
        if stretch.first:
            name += f" from pixel {r.sections[0].first + 1}"
        trunks.append(
            Trunk(
                name,
                stretch.supply.name,
                stretch.line,
                r.start.text,
                r.stop.text,
                r.wire.name,
                r.start.lead,
                r.fuse,
            )
        )
        taps += [
            Tap(
                f"{stretch.line} {s.first + 1}-{s.last + 1}",
                name,
                s.joint.text,
                s.wire.name,
                ground.tap,
                s.fuse,
            )
            for s in r.sections
        ]
    own = cuts(sections)
    return Plan(
        "",
        (),
        trunks=tuple(trunks),
        taps=tuple(taps),
        cuts=((stretch.line, own),) if own else (),
    )
