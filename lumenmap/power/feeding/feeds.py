"""Feeds: wires from the supply to several connectors of an uncut line, which share its current."""

from __future__ import annotations

from functools import partial

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.supplies import Feed
from lumenmap.parts.fuses import continuous_load, largest_fuse
from lumenmap.parts.wires import Wire
from lumenmap.power.feeding.ground import Ground
from lumenmap.power.feeding.line_model import LineModel
from lumenmap.power.feeding.plan import NoPlanError, Plan
from lumenmap.power.feeding.spread import best_positions
from lumenmap.power.feeding.stretch import Joint, Stretch

WHAT = "feeds from the supply to connectors of the line, whose plus wire stays whole"
#: Nobody would build more feeds than this on one line: our choice.
_MOST = 20

_TOGETHER = (
    "feeds: a fault draws through all feeds of its line, until the fuse of each has blown; where "
    "the plus wire is cut between feeds it draws through one."
)

F = NDArray[np.float64]


def plan(ground: Ground) -> Plan:
    """Return the fewest feeds of every line, of the cheapest wire.

    Raises
    ------
    NoPlanError
        No number of feeds is enough.
    """
    found = Plan("feeds", ground.site.house.supplies, notes=(_TOGETHER,))
    for stretch in ground.stretches:
        found = found.joined(_Uncut(ground, stretch).plan())
    return found


class _Uncut:
    def __init__(self, ground: Ground, stretch: Stretch) -> None:
        self.ground, self.stretch = ground, stretch
        own = stretch.ohms[stretch.first : stretch.last + 1]
        self.model = LineModel(own, np.maximum(np.diff(own), 1e-9), ground.pixel_amps)
        self.string = ground.may(ground.string)
        self.room = ground.room(stretch.supply)
        self.joints = stretch.joints
        self.pixel = [j.pixel - stretch.first for j in self.joints]

    def plan(self) -> Plan:
        for count in range(1, min(_MOST, len(self.joints)) + 1):
            found = self._with(count)
            if found is not None:
                return found
        raise NoPlanError(
            f'line "{self.stretch.line}" isn\'t fed enough at {min(_MOST, len(self.joints))} '
            "places, uncut"
        )

    def _with(self, count: int) -> Plan | None:
        """Return the cheapest plan of so many feeds, or None."""
        works: list[tuple[float, list[int], list[Wire]]] = []
        thick = self.ground.stock[-1]
        for size in dict.fromkeys((thick, *self.ground.stock)):
            at = best_positions(len(self.joints), count, 1, partial(self._even, size))
            if self.strain(at, [size] * count) <= 1:
                sizes = self._thinned(at, [size] * count)
                works.append((self._money(at, sizes), at, sizes))
            elif size is thick:
                return None
        _, at, sizes = min(works, key=lambda row: row[0])
        return self._built(at, sizes)

    def _even(self, size: Wire, at: list[int]) -> float:
        return self.strain(at, [size] * len(at))

    def strain(self, at: list[int], sizes: list[Wire]) -> float:
        """Return how much of volts, fuses or string is used, whichever is most; above 1 fails."""
        drops, amps = self._flows(at, sizes)
        loads = [a / max(self._load(s), 1e-9) for a, s in zip(amps, sizes, strict=True)]
        string = self.model.string_amps(drops).max(initial=0) / self.string
        return float(max(drops.max() / self.room, string, *loads))

    def _load(self, size: Wire) -> float:
        """Return what the largest fuse that protects wire and string carries for hours (A)."""
        return continuous_load(largest_fuse(min(self.string, self.ground.may(size))) or 0.0)

    def _flows(self, at: list[int], sizes: list[Wire]) -> tuple[F, F]:
        joints = [self.joints[k] for k in at]
        ohms = [
            self.ground.lead_ohms(s, j.lead, j.plug) for j, s in zip(joints, sizes, strict=True)
        ]
        return self.model.feed(np.array([self.pixel[k] for k in at], np.intp), np.array(ohms))

    def _thinned(self, at: list[int], sizes: list[Wire]) -> list[Wire]:
        """Make each feed thinner, the longest first, as long as the plan is still enough."""
        for k in sorted(range(len(at)), key=lambda k: -self.joints[at[k]].lead):
            for size in self.ground.stock:
                if size.area >= sizes[k].area:
                    break
                tried = [*sizes[:k], size, *sizes[k + 1 :]]
                if self.strain(at, tried) <= 1:
                    sizes = tried
                    break
        return sizes

    def _money(self, at: list[int], sizes: list[Wire]) -> float:
        pairs = zip((self.joints[k] for k in at), sizes, strict=True)
        return sum(self.ground.prices.pair(size.name, joint.lead) for joint, size in pairs)

    def _built(self, at: list[int], sizes: list[Wire]) -> Plan:
        stretch = self.stretch
        _, amps = self._flows(at, sizes)
        feeds = []
        for k, size, a in zip(at, sizes, amps, strict=True):
            joint: Joint = self.joints[k]
            fuse = self.ground.fuse(float(a), min(self.string, self.ground.may(size))) or 0.0
            name = f"{stretch.line} at {joint.text}"
            where = (stretch.supply.name, stretch.line, joint.text, size.name, joint.lead)
            feeds.append(Feed(name, *where, fuse))
        before = (f"after pixel {stretch.first}",) if stretch.first else ()
        return Plan("", (), tuple(feeds), cuts=((stretch.line, before),) if before else ())
