"""`Planner`: positions, wires and fuses for a given number of feeds of a line.

Strategy: take the thinnest stock wire with which the feeds, at their best positions, are enough;
then make each feed thinner where possible. The network solver verifies the result.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.units import LENGTH
from lumenmap.parts.fuses import BLADES, continuous_load, fuse_for
from lumenmap.parts.wires import STOCK_AWG, STOCK_MM2, Wire, wire
from lumenmap.pixels.pixelmap import LineSpan
from lumenmap.power.feeding.feed_positions import best_positions
from lumenmap.power.feeding.line_model import LineModel
from lumenmap.power.feeding.option import Option, PlannedBus, PlannedFeed, verify
from lumenmap.site import Site

F = NDArray[np.float64]

#: A lead-in where the house file has no feed to estimate from (m): common practice, no source.
_LEAD_IN = 3.0
#: The highest utilisation of a plan, so that rounding of positions doesn't spoil it.
_MAX_UTILISATION = 1 - 1e-6
#: The longest distance between a bus's ties (m). Each tie is two joints to seal; further apart, the
#: string's voltage drops between them. Our choice.
_TIE = 1.5


class Planner:
    """Plans the feeds of one line, from one supply, with or without a bus alongside.

    String and bus are planned as one conductor in parallel; the solver verifies every tie. A plan
    uses ``drop_fraction`` of the permitted voltage drop.
    """

    def __init__(
        self, site: Site, span: LineSpan, bus: Wire | None = None, drop_fraction: float = 1.0
    ) -> None:
        house, pixelmap = site.house, site.pixels
        self.site, self.house, self.map, self.span = site, house, pixelmap, span
        kind = house.kind
        own = [f.supply for f in house.feeds if f.line == span.name]
        name = own[0] if own else house.supplies[0].name
        self.supply = next(s for s in house.supplies if s.name == name)
        self.string = wire(house.wire_defaults.string)
        hot = house.wire_defaults.celsius
        amps = (sum(kind.channel_ma) + kind.idle_ma) / 1000
        places = pixelmap.along_line[span.slice]
        along = [self.string, *([bus] if bus else [])]
        siemens = sum(1 / w.ohms(1.0, hot) for w in along)
        self.model = LineModel(places, self._links(places, bus), amps)
        self.max_drop = drop_fraction * (self.supply.volts - kind.min_volts)
        # A feed's current flows both ways; its fuse must suit string and bus as well as its wire.
        ampacities = [house.wire_defaults.may_carry(w, 2 * len(along)) for w in along]
        self.ampacity_behind = min(ampacities)
        # Conductors share a current by their conductance; the first at its ampacity is the limit.
        self.line_ampacity = min(
            a * w.ohms(1.0, hot) * siemens for a, w in zip(ampacities, along, strict=True)
        )
        steps = max(1, math.ceil(span.length / _TIE))
        self.bus = PlannedBus(bus.name, span.length, span.length / steps) if bus else None
        metric = "mm2" in house.wire_defaults.string or any("mm" in f.wire for f in house.feeds)
        self.stock = [wire(t) for t in (STOCK_MM2 if metric else STOCK_AWG)]
        self.leads = self._leads(places)

    def _links(self, places: F, bus: Wire | None) -> F:
        """Return the ohms (n - 1,) of the loop from pixel to pixel: string, connectors, a bus."""
        own, hot = self.site.places[self.span.name], self.house.wire_defaults.celsius
        links = 2 * self.string.ohms(1.0, hot) * np.diff(own.wire)
        for connector in own.connectors[1:-1]:
            links[own.pixel_before(connector.wire) - 1] += 2 * self.house.string.contact_ohms
        if bus:
            beside = np.maximum(2 * bus.ohms(1.0, hot) * np.diff(places), 1e-6)
            links = 1 / (1 / np.maximum(links, 1e-6) + 1 / beside)
        return links

    def _leads(self, places: F) -> F:
        """Return (n,) m of lead-in to each pixel, estimated from the existing feeds."""
        spans = {s.name: s for s in self.map.lines}
        xyz = self.map.xyz[self.span.slice]
        found = []
        for feed in self.house.feeds:
            if feed.supply != self.supply.name or not feed.wire:
                continue
            at = self.site.places[feed.line].at(feed.at, f'feed "{feed.name}", at')
            if feed.line == self.span.name:
                found.append(feed.length + np.abs(places - at))
            else:
                other = spans[feed.line]
                near = int(np.abs(self.map.along_line[other.slice] - at).argmin())
                # Wire follows edges, so the distances across, back and up add.
                distance = np.abs(xyz - self.map.xyz[other.first + near]).sum(axis=1)
                found.append(feed.length + distance)
        nearest: F = np.min(found, axis=0) if found else _LEAD_IN + places - places[0]
        return nearest

    def option(self, count: int) -> Option:
        """Return the best way found with ``count`` feeds.

        Feeds far apart are tried first: they share the load whatever the show does. Only if that
        isn't possible may they be close together.
        """
        thick = self.stock[-1]
        for apart in (max(1, len(self.model) // (2 * count)), 1):
            best = self.place(count, thick, apart)
            if self.utilisation(best, [thick] * count) > _MAX_UTILISATION:
                continue
            for size in self.stock:
                at = best if size is thick else self.place(count, size, apart)
                if self.utilisation(at, [size] * count) <= _MAX_UTILISATION:
                    return self._checked(at, self._thinned(at, [size] * count))
        return Option(count, (), 0.0, 0.0, None, self._why(best), self.bus)

    def _thinned(self, at: list[int], sizes: list[Wire]) -> list[Wire]:
        """Make each feed thinner, the longest first, as long as the plan is still enough."""
        for k in sorted(range(len(at)), key=lambda k: -self.leads[at[k]]):
            for size in self.stock:
                if size.area >= sizes[k].area:
                    break
                tried = [*sizes[:k], size, *sizes[k + 1 :]]
                if self.utilisation(at, tried) <= _MAX_UTILISATION:
                    sizes = tried
                    break
        return sizes

    def flows(self, at: list[int], sizes: list[Wire]) -> tuple[F, F]:
        """Return the voltage drop (V) at each pixel and the current (A) of each feed."""
        hot = self.house.wire_defaults.celsius
        ohms = np.array(
            [
                2 * size.ohms(self.leads[k], hot) + self.house.wire_defaults.contact_ohms
                for k, size in zip(at, sizes, strict=True)
            ]
        )
        return self.model.feed(np.array(at, np.intp), ohms)

    def utilisation(self, at: list[int], sizes: list[Wire]) -> float:
        """Return the utilisation of drop, fuses or string, whichever is highest; above 1 fails."""
        if self.max_drop <= 0:  # the supply itself is below the pixels' minimum
            return math.inf
        drops, amps = self.flows(at, sizes)
        loads = [a / max(self._load(size), 1e-9) for a, size in zip(amps, sizes, strict=True)]
        string = self.model.string_amps(drops).max(initial=0) / self.line_ampacity
        return float(max(drops.max() / self.max_drop, string, *loads))

    def _load(self, size: Wire) -> float:
        """Return the continuous current (A) of the largest fuse that protects the wire."""
        limit = min(self.house.wire_defaults.may_carry(size), self.ampacity_behind)
        return max((continuous_load(f) for f in BLADES if f <= limit), default=0.0)

    def place(self, count: int, size: Wire, apart: int = 1) -> list[int]:
        """Return the pixels to feed at with ``count`` feeds of one size: the least strain found.

        Feeds stay ``apart`` pixels from each other.
        """
        return best_positions(
            len(self.model), count, apart, lambda at: self.utilisation(at, [size] * count)
        )

    def _why(self, at: list[int]) -> str:
        size = self.stock[-1]
        drops, amps = self.flows(at, [size] * len(at))
        lowest = self.supply.volts - float(drops.max())
        need = self.house.kind.min_volts
        what = "string and bus" if self.bus else f"{self.string.name} string"
        words = []
        if lowest < need:
            volts = f"{lowest:.2f} V" if lowest > 0 else "0 V"
            words.append(f"the lowest voltage would be {volts}, and pixels need {need:g} V")
        if (most := float(amps.max())) > self._load(size):
            words.append(
                f"a feed would carry {most:.2f} A, and the largest fuse that protects the "
                f"{what} carries {self._load(size):g} A continuously"
            )
        if (most := float(self.model.string_amps(drops).max(initial=0))) > self.line_ampacity:
            limit = self.line_ampacity
            words.append(f"the {what} would carry {most:.2f} A, and may carry {limit:.3g} A")
        return "not enough: " + ", and ".join(words)

    def _checked(self, at: list[int], sizes: list[Wire]) -> Option:
        """Return the option, with its figures from the network solver."""
        _, amps = self.flows(at, sizes)
        feeds = []
        for k, size, a in zip(at, sizes, amps, strict=True):
            position, here = self._connection(k), float(self.model.positions[k])
            feeds.append(
                PlannedFeed(
                    position,
                    k + 1,
                    size.name,
                    float(self.leads[k]) + abs(position - here),
                    float(fuse_for(float(a)) or 0),
                    float(a),
                )
            )
        lowest, drawn, wrong = verify(self.site, self.span.name, self.supply.name, feeds, self.bus)
        feeds = [replace(f, amps=a) for f, a in zip(feeds, drawn, strict=True)]
        runs = [(f.wire, f.length) for f in feeds]
        if self.bus:
            runs.append((self.bus.wire, self.bus.length))
        # 8.96 g/cm³, handbook density of copper [M]; out and back.
        grams = sum(2 * wire(name).area * length * 8.96 for name, length in runs)
        cost = self._cost(runs, len(feeds))
        why_not = f"not enough, by the network solver: {wrong}" if wrong else ""
        return Option(len(at), tuple(feeds), lowest, grams, cost, why_not, self.bus)

    def _connection(self, k: int) -> float:
        """Return where (m) to feed for pixel ``k``: there, or at the nearest tie of the bus."""
        position = float(self.model.positions[k])
        return round(position / self.bus.every) * self.bus.every if self.bus else position

    def _cost(self, runs: list[tuple[str, float]], fuses: int) -> float | None:
        prices = self.house.buying.prices
        per = float(LENGTH["ft" if self.house.unit in ("ft", "in") else "m"])
        if any(name not in prices for name, _ in runs):
            return None
        wires = sum(2 * prices[name] * length / per for name, length in runs)
        return float(wires + prices.get("fuse", 0.0) * fuses)
