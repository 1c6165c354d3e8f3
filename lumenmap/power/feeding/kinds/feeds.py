"""Feeds: wires from the supply to several connectors of an uncut line, which share its current."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from lumenmap.house.supplies import Feed
from lumenmap.parts.fuses import continuous_load, largest_fuse
from lumenmap.parts.wires import Wire
from lumenmap.power.feeding.groundwork.ground import Ground
from lumenmap.power.feeding.groundwork.line_model import LineModel
from lumenmap.power.feeding.groundwork.plan import NoPlanError, Plan
from lumenmap.power.feeding.groundwork.spread import best_positions
from lumenmap.power.feeding.groundwork.stretch import Joint, Stretch

WHAT = "feeds from the supply to connectors of the line, whose plus wire stays whole"
#: Nobody would build more feeds than this on one line: our choice.
_MOST = 20
#: Every set of so many joints is tried; of more, sets well spread: the fewest that are enough, and
#: so many more than these.
_ALL, _MORE = 6, 3

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
    found = ground.plan_each("feeds", lambda stretch: _Uncut(ground, stretch).plan())
    return replace(found, notes=(_TOGETHER,))


class _Uncut:
    def __init__(self, ground: Ground, stretch: Stretch) -> None:
        self.ground, self.stretch, self.joints = ground, stretch, stretch.joints
        own = stretch.ohms[stretch.first : stretch.last + 1]
        places = np.concatenate([own, [j.ohms for j in self.joints]])
        order = np.argsort(places, kind="stable")
        drawn = np.where(order < len(own), ground.pixel_amps, 0.0)
        self.model = LineModel(places[order], np.diff(places[order]), drawn)
        self.node = np.argsort(order)[len(own) :].tolist()
        self.string = ground.may(ground.string)
        self.room = ground.room(stretch.supply)

    def plan(self) -> Plan:
        found: list[tuple[float, list[int], list[Wire]]] = []
        for at in self._places():
            sizes = self._thinned(at)
            if sizes:
                found.append((self._money(at, sizes), at, sizes))
        if not found:
            raise NoPlanError(
                f'line "{self.stretch.line}" isn\'t fed enough at {min(_MOST, len(self.joints))} '
                "places, uncut"
            )
        _, at, sizes = min(found, key=lambda row: row[0])
        return self._built(at, sizes)

    def _places(self) -> Iterator[list[int]]:
        """Yield sets of joints to feed at: all of them if they are few, or those well spread."""
        count = len(self.joints)
        if count <= _ALL:
            for used in range(1, count + 1):
                yield from map(list, combinations(range(count), used))
            return
        works = 0
        for used in range(1, min(_MOST, count) + 1):
            at = best_positions(count, used, 1, self._thick)
            if self._thick(at) <= 1:
                yield at
                works += 1
                if works > _MORE:
                    return

    def _thick(self, at: list[int]) -> float:
        return self.strain(at, [self.ground.stock[-1]] * len(at))

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
        return self.model.feed(np.array([self.node[k] for k in at], np.intp), np.array(ohms))

    def _thinned(self, at: list[int]) -> list[Wire]:
        """Return the sizes of feeds at joints, as thin as is enough; none if none is.

        The one that saves most is made thinner first, step by step.
        """
        found = []
        for start in range(len(self.ground.stock) - 1, -1, -1):
            sizes = self._from([start] * len(at), at)
            if not sizes:
                break
            found += [sizes, self._longest_first(sizes, at)]
        return min(found, key=lambda sizes: self._money(at, sizes), default=[])

    def _longest_first(self, sizes: list[Wire], at: list[int]) -> list[Wire]:
        """Return sizes of which the longest feed is made as thin as can be, then the next."""
        thick = [max(sizes, key=lambda s: s.area)] * len(at)
        for k in sorted(range(len(at)), key=lambda k: -self.joints[at[k]].lead):
            for size in self.ground.stock:
                tried = [*thick[:k], size, *thick[k + 1 :]]
                if self.strain(at, tried) <= 1:
                    thick = tried
                    break
        return thick if self.strain(at, thick) <= 1 else sizes

    def _from(self, size: list[int], at: list[int]) -> list[Wire]:
        """Return the same from sizes of the stock on."""
        stock = self.ground.stock
        if self.strain(at, [stock[k] for k in size]) > 1:
            return []
        settled: set[int] = set()
        while len(settled) < len(at):
            k = max(set(range(len(at))) - settled, key=lambda k: self._saved(at[k], size[k]))
            size[k] -= 1
            if size[k] < 0 or self.strain(at, [stock[s] for s in size]) > 1:
                size[k] += 1
                settled.add(k)
        return [stock[s] for s in size]

    def _saved(self, joint: int, size: int) -> float:
        """Return the money that the next thinner wire saves."""
        if size == 0:
            return 0.0
        stock, metres = self.ground.stock, self.joints[joint].lead
        own, thinner = (self.ground.prices.pair(stock[k].name, metres) for k in (size, size - 1))
        return own - thinner

    def _money(self, at: list[int], sizes: list[Wire]) -> float:
        pairs = zip((self.joints[k] for k in at), sizes, strict=True)
        wires = sum(self.ground.prices.pair(size.name, joint.lead) for joint, size in pairs)
        return wires + len(at) * (self.ground.prices.fuse + self.ground.prices.connector)

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
