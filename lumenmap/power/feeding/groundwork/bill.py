"""`Bill`: what a plan takes: wire, fuses, joints, money and hours."""

from __future__ import annotations

from dataclasses import dataclass, field

from lumenmap.core.units import LENGTH
from lumenmap.house.model import House
from lumenmap.parts.wires import wire
from lumenmap.power.feeding.groundwork.plan import Plan
from lumenmap.site import Site

#: Prices where the owner gives none, in nobody's currency: of a metre of one conductor by its
#: copper (a base and so much for each mm2), of a fuse with its holder, a connector with its tail,
#: a pixel, and a supply (a base and so much for each watt). Guesses [C].
WIRE, FUSE, CONNECTOR, PIXEL, SUPPLY = (0.15, 0.22), 3.0, 1.5, 0.3, (8.0, 0.35)
#: Hours of work for each joint sealed on the ladder, each cut, each fuse with its holder, each
#: supply mounted, and each metre of pair pulled: guesses [C].
HOURS = {"joint": 0.3, "cut": 0.25, "fuse": 0.1, "supply": 1.0, "metre": 0.03}
#: g/cm3, handbook density of copper [M].
COPPER = 8.96


@dataclass(frozen=True, slots=True)
class Prices:
    """What things cost: by the owner's list, or a guess."""

    house: House

    def wire(self, name: str) -> tuple[float, bool]:
        """Return the price of a metre of one conductor, and whether it is the owner's."""
        given, per = self.house.buying.prices, LENGTH["ft" if self._feet else "m"]
        for own in (name, name.removesuffix(" stranded"), f"{name} stranded"):
            if own in given:
                return given[own] / float(per), True
        base, each = WIRE
        return base + each * wire(name).area, False

    def of(self, name: str, guess: float) -> tuple[float, bool]:
        """Return the price of a thing by name, and whether it is the owner's."""
        given = self.house.buying.prices
        return (given[name], True) if name in given else (guess, False)

    def pair(self, name: str, metres: float) -> float:
        """Return the price of so many m of a pair."""
        return 2 * metres * self.wire(name)[0]

    @property
    def fuse(self) -> float:
        """The price of a fuse with its holder."""
        return self.of("fuse", FUSE)[0]

    @property
    def connector(self) -> float:
        """The price of a connector with its tail."""
        return self.of("connector", CONNECTOR)[0]

    @property
    def _feet(self) -> bool:
        return self.house.unit in ("ft", "in")


def supply_price(volts: float, label: float) -> float:
    """Return the guessed price of a supply by its volts and the amps on its label."""
    base, watt = SUPPLY
    return base + watt * volts * label


@dataclass(frozen=True, slots=True)
class Bill:
    """What a plan takes.

    Attributes
    ----------
    wire
        m of pair by its size.
    copper
        g.
    joints, fuses, cuts
        How many connections to the line, fuses, and cuts of the positive.
    money
        In the owner's currency.
    guessed
        Things whose price is a guess.
    hours
        Of work, roughly.
    """

    wire: dict[str, float] = field(default_factory=dict)
    copper: float = 0.0
    joints: int = 0
    fuses: int = 0
    cuts: int = 0
    money: float = 0.0
    guessed: tuple[str, ...] = ()
    hours: float = 0.0


def bill(site: Site, plan: Plan) -> Bill:
    """Return what a plan takes that the house doesn't have yet; wire is all counted as new."""
    if plan.name == "as-is":
        return Bill()
    prices, wired = Prices(site.house), plan.site(site)
    runs: dict[str, float] = {}
    for name, metres in _runs(plan, wired):
        runs[name] = runs.get(name, 0.0) + metres
    ties = [f for f in wired.wiring.fuses if f.kind == "tie"]
    fuses = sum(f.amps is not None for f in wired.wiring.fuses)
    joints = len(plan.feeds) + len(plan.taps) + len(ties)
    cuts = sum(len(c) for _, c in plan.cuts)
    sums = {name: 2 * m * prices.wire(name)[0] for name, m in runs.items()}
    sums |= {"fuse": fuses * prices.fuse, "connector": joints * prices.connector}
    own = {name: prices.wire(name)[1] for name in runs}
    own |= {"fuse": prices.of("fuse", FUSE)[1], "connector": prices.of("connector", CONNECTOR)[1]}
    for what, count, guess in plan.bought:
        price, own[what] = prices.of(what, guess)
        sums[what] = count * price
    supplies = sum(count for what, count, _ in plan.bought if what != "pixel")
    return Bill(
        dict(sorted(runs.items(), key=lambda row: -wire(row[0]).area)),
        sum(2 * wire(name).area * m * COPPER for name, m in runs.items()),
        joints,
        fuses,
        cuts,
        sum(sums.values()),
        tuple(what for what, known in own.items() if not known and sums[what]),
        HOURS["joint"] * joints
        + HOURS["cut"] * cuts
        + HOURS["fuse"] * fuses
        + HOURS["supply"] * supplies
        + HOURS["metre"] * sum(runs.values()),
    )


def _runs(plan: Plan, wired: Site) -> list[tuple[str, float]]:
    """Return (size, m one way) of every wire of a plan."""
    runs = [(f.wire, f.length) for f in plan.feeds] + [(t.wire, t.length) for t in plan.taps]
    for run in plan.trunks:
        own = wired.places[run.line]
        runs.append((run.wire, run.length + abs(own.at(run.stop, "") - own.at(run.start, ""))))
    for bus in plan.buses:
        own = wired.places[bus.line]
        runs.append((bus.wire, abs(own.at(bus.stop, "") - own.at(bus.start, ""))))
    return runs
