"""Which currents have a limit, what it is, and how much of each pixel's current is in them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from lumenmap.core.lengths import show_place
from lumenmap.house.choices import BudgetKind
from lumenmap.house.model import House
from lumenmap.parts.fuses import continuous_load
from lumenmap.power.circuit.shares import Share
from lumenmap.power.circuit.wiring import POLARITIES, Conductor, Owner, PowerWiring
from lumenmap.power.limits.parts import Row, in_parts

#: A budget: its name, kind, limit (A), and the pixels in it.
Figures = tuple[str, BudgetKind, float, Row]


def budget_rows(house: House, wiring: PowerWiring) -> list[Figures]:
    """Return (name, kind, A, row) of each budget: supplies, fuses and leads, wire, connectors.

    Raises
    ------
    InputError
        No ampacity for a wire.
    """
    found: list[Figures] = []
    _shares(wiring, _needed(wiring))  # all together, which is quicker; the network keeps them
    for supply in house.supplies:
        own = _shares(wiring, wiring.sources(supply.name)).values()
        if own:
            found.append((supply.name, "supply", supply.amps, _total(wiring, own)))
    found += [row for feed in wiring.feeds for row in _lead(wiring, ("feed", feed.name))]
    for trunk in wiring.trunks:
        found += _lead(wiring, ("trunk", trunk.name))
        found += _along_trunk(house, wiring, trunk.name)
        for tap in (t for t in wiring.taps if t.trunk == trunk.name):
            found += _lead(wiring, ("tap", tap.name))
    for name in wiring.joints:
        found += _along(house, wiring, name)
    return found


def _lead(wiring: PowerWiring, owner: Owner) -> list[Figures]:
    """Return the budgets of a feed, a tap or a trunk's lead-in: of its fuse and its wire."""
    name = owner[1]
    stretches = [c for p in POLARITIES for c in wiring.of(*owner, p) if not c.number]
    fuses = {f.conductor: f.amps for f in wiring.fuses if (f.kind, f.owner) == owner}
    shares = _shares(wiring, stretches)
    found: list[Figures] = []
    for conductor, amps in fuses.items():
        if amps is not None:
            rows = _both_ways([shares[id(conductor)]])
            found += [(name, "branch", continuous_load(amps), row) for row in rows]
    if owner in wiring.wires:
        limit = wiring.may_carry(*owner)
        found += [(name, "wire", limit, row) for row in _both_ways(list(shares.values()))]
    return found


def _along_trunk(house: House, wiring: PowerWiring, trunk: str) -> list[Figures]:
    """Return the budgets of a trunk between its taps."""
    found: list[Figures] = []
    own = [c for p in POLARITIES for c in wiring.of("trunk", trunk, p) if c.number]
    for c, share in zip(own, _shares(wiring, own).values(), strict=True):
        name = f"{trunk} trunk at {show_place(c.at, house.unit)}"
        limit = wiring.may_carry("trunk", trunk)
        found += [(name, "wire", limit, row) for row in _both_ways([share])]
    return found


def _along(house: House, wiring: PowerWiring, line: str) -> list[Figures]:
    """Return the budgets of what lies along a line: its string, buses, ties and connectors."""
    described = {f.line for f in wiring.feeds if f.wire} | {t.line for t in wiring.trunks}
    if line not in described:
        return []  # where its wire comes from is unknown
    buses = [b for b in house.buses if b.line == line]
    places = wiring.joints[line]
    found = _wire(house, wiring, ("string", line), places)
    for bus in buses:
        # A bus has no pixels: every stretch is between two ties, and both ways are possible.
        own = [c for p in POLARITIES for c in wiring.of("bus", bus.name, p)]
        ties = [(n, c.at) for n, c in enumerate(wiring.of("tie", bus.name, "positive"))]
        found += _wire(house, wiring, ("bus", bus.name), ties) if own else []
        found += _ties(house, wiring, bus.name)
    if house.string.connector_amps is not None:
        found += _connectors(wiring, line, house.string.connector_amps)
    return found


def _wire(
    house: House, wiring: PowerWiring, owner: Owner, joints: list[tuple[int, float]]
) -> list[Figures]:
    kind, name = owner
    limit = wiring.may_carry(*owner)
    runs = [wiring.of(kind, name, polarity) for polarity in POLARITIES]
    return [
        (f"{name} {kind} at {show_place(at, house.unit)}", "wire", limit, row)
        for at, row in _busiest(wiring, runs, joints)
    ]


def _ties(house: House, wiring: PowerWiring, bus: str) -> list[Figures]:
    """Return the budgets of a bus's ties, if they have fuses."""
    found: list[Figures] = []
    for fuse in (f for f in wiring.fuses if (f.kind, f.owner) == ("tie", bus)):
        if fuse.amps is not None:
            share = _shares(wiring, [fuse.conductor])[id(fuse.conductor)]
            name = f"{bus} tie at {show_place(fuse.conductor.at, house.unit)}"
            limit = continuous_load(fuse.amps)
            found += [(name, "branch", limit, row) for row in _both_ways([share])]
    return found


def _connectors(wiring: PowerWiring, line: str, amps: float) -> list[Figures]:
    """Return the budgets of a line's connectors, and of what is plugged in there."""
    taps = {
        t.name for t in wiring.taps for k in wiring.trunks if (k.name, k.line) == (t.trunk, line)
    }
    own: set[Owner] = {
        ("string", line),
        *(("feed", f.name) for f in wiring.feeds if f.line == line),
    }
    own |= {("tap", name) for name in taps}
    at: dict[int, list[Conductor]] = {}
    stretches = [c for owner in own for p in POLARITIES for c in wiring.of(*owner, p)]
    for c in sorted(stretches, key=lambda c: c.resistor):  # in the order of the wiring
        if c.connector is not None:
            at.setdefault(c.connector, []).append(c)
    found: list[Figures] = []
    for number, conductors in sorted(at.items()):
        rows = _both_ways(list(_shares(wiring, conductors).values()))
        found += [(f"{line} connector {number}", "wire", amps, row) for row in rows]
    return found


def _needed(wiring: PowerWiring) -> list[Conductor]:
    """Return all conductors but the stretches of string that aren't beside a joint."""
    beside = {
        (line, number)
        for line, joints in wiring.joints.items()
        for node, _ in joints
        for number in (node - 1, node)
    }
    return [
        c
        for c in wiring.conductors
        if c.kind != "string" or c.connector is not None or (c.owner, c.number) in beside
    ]


def _shares(wiring: PowerWiring, conductors: Sequence[Conductor]) -> dict[int, Share]:
    """Return the share of each pixel's current in each conductor, by the conductor's id."""
    shares = wiring.network.shares([c.resistor for c in conductors])
    return {id(c): share for c, share in zip(conductors, shares, strict=True)}


def _total(wiring: PowerWiring, shares: Iterable[Share]) -> Row:
    """Return the row of several conductors together."""
    total = np.zeros(len(wiring.network.plus))
    for pixels, share in shares:
        total[pixels] += share
    return in_parts(np.arange(len(total)), total)


def _busiest(
    wiring: PowerWiring, runs: list[list[Conductor]], joints: list[tuple[int, float]]
) -> list[tuple[float, Row]]:
    """Return (m, row) on both sides of each joint: nowhere between is the current higher.

    Between two joints every pixel takes some of the current, so it is highest at one end.

    Parameters
    ----------
    runs
        The stretches of the positive conductor, then of the negative, in order along the line.
    joints
        The number of each joint's node, and m along the line.
    """
    near: list[tuple[float, Conductor, int]] = []
    for run, away in zip(runs, (1, -1), strict=True):
        numbered = {c.number: c for c in run}
        for node, at in joints:
            # Away from the joint; what flows towards it is highest at the next one.
            near += [(at, numbered[node], away)] if node in numbered else []
            near += [(at, numbered[node - 1], -away)] if node - 1 in numbered else []
    shares = _shares(wiring, [c for _, c, _ in near])
    found: dict[bytes, tuple[float, Row]] = {}
    for at, conductor, sign in near:
        pixels, share = shares[id(conductor)]
        row = in_parts(pixels, share * sign)
        if len(row.pixels):
            found.setdefault(row.key, (at, row))
    return list(found.values())


def _both_ways(shares: Sequence[Share]) -> list[Row]:
    """Return the rows that differ, of currents in either direction; none of those that are zero."""
    rows = [in_parts(pixels, sign * share) for pixels, share in shares for sign in (1, -1)]
    return list({row.key: row for row in rows if len(row.pixels)}.values())
