"""`Ground`: what a plan starts from: stretches, wires, prices, and the volts to keep."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property

from lumenmap.core.errors import InputError
from lumenmap.house.supplies import Supply
from lumenmap.parts.fuses import fuse_for, largest_fuse
from lumenmap.parts.wires import HEAVY_AWG, HEAVY_MM2, STOCK_AWG, STOCK_MM2, Wire, wire
from lumenmap.power.feeding.groundwork.bill import Prices
from lumenmap.power.feeding.groundwork.plan import NoPlanError, Plan
from lumenmap.power.feeding.groundwork.stretch import Joint, Stretch, stretches
from lumenmap.site import Site

#: Volts that the pixels keep above their least, as a part of it: our choice.
MARGIN = 0.05
#: A tap's wire from the trunk beside the line to its connector (m), in a house of feet or inches
#: and in a metric one: common practice, no source.
TAPS = (0.3048, 0.3)


@dataclass(frozen=True, eq=False)
class Ground:
    """What a plan starts from.

    Attributes
    ----------
    site
        The house as it is.
    level
        0..1 of full white that the plan is for.
    margin
        Volts to keep above the pixels' least, as a part of it.
    anywhere
        Whether feeds and taps may be at any pixel.
    size
        A wire that buses and trunks are to be of; the cheapest if empty.
    share
        Part of the permitted drop, and of what wires may carry, that the quick model may use.
    """

    site: Site
    level: float = 1.0
    margin: float = MARGIN
    anywhere: bool = False
    size: str = ""
    share: float = 1.0
    parts: tuple[Stretch, ...] | None = field(default=None, repr=False)
    _may: dict[tuple[str, int], float] = field(default_factory=dict, init=False, repr=False)

    @property
    def tap(self) -> float:
        """Length of a tap (m): a foot, or 30 cm."""
        return TAPS[self.site.house.unit not in ("ft", "in")]

    @cached_property
    def stretches(self) -> tuple[Stretch, ...]:
        """Every line, divided among its supplies."""
        return self.parts or stretches(self.site, self.anywhere)

    def plan_each(self, name: str, make: Callable[[Stretch], Plan]) -> Plan:
        """Return a plan of a kind: what ``make`` makes of each stretch, on today's supplies."""
        found = Plan(name, self.site.house.supplies)
        for stretch in self.stretches:
            found = found.joined(make(stretch))
        return found

    @property
    def floor(self) -> float:
        """The least volts at a pixel."""
        return self.site.house.kind.min_volts * (1 + self.margin)

    @property
    def pixel_amps(self) -> float:
        """What a pixel draws at this level (A)."""
        kind = self.site.house.kind
        return (self.level * sum(kind.channel_ma) + kind.idle_ma) / 1000

    @cached_property
    def prices(self) -> Prices:
        """What things cost."""
        return Prices(self.site.house)

    @cached_property
    def stock(self) -> tuple[Wire, ...]:
        """Wires to choose from, thinnest first: those that the ampacity table has."""
        return self._rated(STOCK_MM2 if self._metric else STOCK_AWG)

    @cached_property
    def _metric(self) -> bool:
        """Whether wires are of mm2: as the house has them or, without any, as its lengths are."""
        house = self.site.house
        own = [f.wire for f in house.feeds] + [t.wire for t in house.trunks]
        own += [t.wire for t in house.taps] + [b.wire for b in house.buses]
        if any("mm2" in size for size in (house.wire_defaults.string, *own)):
            return True
        return not own and house.unit not in ("ft", "in")

    def _rated(self, sizes: tuple[str, ...]) -> tuple[Wire, ...]:
        house = self.site.house
        names = sizes if self._metric else tuple(f"{name} stranded" for name in sizes)
        found = []
        for size in map(wire, names):
            try:
                house.wire_defaults.may_carry(size)
            except InputError:
                continue
            found.append(size)
        return tuple(found)

    @cached_property
    def along(self) -> tuple[Wire, ...]:
        """Wires that a trunk or a bus may be of."""
        if self.size:
            return (wire(self.size),)
        return self._rated(STOCK_MM2 + HEAVY_MM2 if self._metric else STOCK_AWG + HEAVY_AWG)

    def room(self, supply: Supply) -> float:
        """Return the volts that wires may drop.

        Raises
        ------
        NoPlanError
            None.
        """
        left = self.share * (supply.volts - self.floor)
        if left <= 0:
            raise NoPlanError(
                f'supply "{supply.name}" gives {supply.volts:g} V, and pixels keep '
                f"{self.floor:.2f} V with this margin"
            )
        return left

    def may(self, size: Wire, together: int = 2) -> float:
        """Return the A that a wire may carry."""
        # Asked for half a million times in a plan, of a dozen wires.
        known = self._may.get((size.name, together))
        if known is None:
            known = self.site.house.wire_defaults.may_carry(size, together)
            self._may[size.name, together] = known
        return known

    def load(self, size: Wire, together: int = 2) -> float:
        """Return the A of a section that a wire may be planned for.

        The return wire runs on past the cuts, so a lead may bring back some of its neighbours'
        current too.
        """
        return min(1.0, self.share) * self.may(size, together)

    @cached_property
    def string(self) -> Wire:
        """The string's own wire."""
        return wire(self.site.house.wire_defaults.string)

    def fuse(self, amps: float, limit: float) -> float | None:
        """Return the smallest fuse for a load, if it protects wire that may carry ``limit`` A."""
        best, most = fuse_for(amps), largest_fuse(limit)
        return float(best) if best is not None and most is not None and best <= most else None

    def lead_ohms(self, size: Wire, metres: float, plug: bool = False) -> float:
        """Return the ohms of both conductors of a lead, its fuse and its connector."""
        house = self.site.house
        loop = 2 * size.ohms(metres, house.wire_defaults.celsius) + house.wire_defaults.contact_ohms
        return loop + 2 * plug * house.string.contact_ohms

    def at(self, level: float, share: float = 1.0) -> Ground:
        """Return the same for another level, with so much of the drop."""
        return replace(self, level=level, share=share, parts=self.stretches)


@dataclass(frozen=True, slots=True)
class Section:
    """Pixels ``first`` to ``last``, from 0, fed at a joint alone: wire, fuse (A), and its price."""

    first: int
    last: int
    joint: Joint
    wire: Wire
    fuse: float
    money: float
    extra: Wire | None = None
