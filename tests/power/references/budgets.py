"""The budgets of a house calculated independently, as a reference for `lumenmap.power.limits`.

Strategy: nothing here comes from the circuit, the limiter, or the code that calculates budgets. It
follows the same rules, though: which wires have a budget, and shares rounded up to 4096ths. Both
conductors of all lines go into one sparse matrix with the supplies' currents among the unknowns
(modified nodal analysis), which a general solver takes apart.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.lengths import show_place
from lumenmap.house.model import House
from lumenmap.house.supplies import Bus, Feed, Tap, Trunk
from lumenmap.parts.ampacity import ampacity
from lumenmap.parts.wires import wire
from lumenmap.site import Site
from tests.power.references.places import Chain, Spot

F = NDArray[np.float64]
Ends = tuple[int, int]

#: No joint is below this (ohm); the export's own rule.
_JOINT = 1e-6


@dataclass(frozen=True, slots=True, eq=False)
class IndependentBudget:
    """A budget: A that it may give, and 4096ths of each pixel's current that it carries (N,)."""

    name: str
    kind: str
    limit: float
    parts: NDArray[np.int64]


@dataclass(slots=True)
class _Mesh:
    """Nodes and branches by name: (what, whose, number)."""

    index: dict[tuple[str, str, int], int] = field(default_factory=dict)
    branches: list[tuple[int, int, float]] = field(default_factory=list)

    def at(self, what: str, whose: str, number: int = 0) -> int:
        return self.index.setdefault((what, whose, number), len(self.index))

    def join(self, a: int, b: int, ohms: float) -> int:
        self.branches.append((a, b, 1 / max(ohms, _JOINT)))
        return len(self.branches) - 1


@dataclass(slots=True)
class _Line:
    """A line laid out: runs of branches as (nodes before and after, branch), and where joints are."""

    chain: Chain
    nodes: list[float]
    joints: list[tuple[int, float]]
    ties: dict[str, list[Spot]]
    runs: dict[tuple[str, str, str], list[tuple[int, int]]] = field(default_factory=dict)
    tied: dict[str, list[Ends]] = field(default_factory=dict)
    plugs: dict[int, list[int]] = field(default_factory=dict)

    def node(self, spot: Spot) -> int:
        return int(np.abs(np.array(self.nodes) - spot.s).argmin())


class Laid:
    """A whole house in a mesh."""

    def __init__(self, site: Site) -> None:
        self.house, self.map = site.house, site.pixels
        self.mesh = _Mesh()
        self.plus = np.empty(len(self.map), np.int64)
        self.minus = np.empty(len(self.map), np.int64)
        self.leads: dict[tuple[str, str], Ends] = {}
        self.stretches: dict[str, list[tuple[float, Ends]]] = {}
        self.feeds = list(_all_feeds(self.house))
        self.chains = {s.name: Chain(self.house, self.map, s) for s in self.map.lines}
        self.taps = {t.name: (t, self._tapped(t)) for t in self.house.taps}
        self.lines = [self._lay(name) for name in self.chains]

    def _tapped(self, tap: Tap) -> Spot:
        trunk = next(t for t in self.house.trunks if t.name == tap.trunk)
        chain = self.chains[trunk.line]
        if tap.at:
            return chain.spot(tap.at)
        far = chain.spot(trunk.stop).x
        return min(chain.spots, key=lambda c: (abs(c.x - far), c.x))

    def ohms(self, size: str, metres: float) -> float:
        w = wire(size)
        return (
            w.ohm_per_km / 1000 * metres * (1 + 0.00393 * (self.house.wire_defaults.celsius - 20))
        )

    def _lead(
        self,
        key: tuple[str, str],
        near: Ends,
        far: Ends,
        ohms: float,
        fuse: float | None,
        connector: int,
    ) -> Ends:
        plug = self.house.string.contact_ohms if connector else 0.0
        held = self.house.wire_defaults.contact_ohms if fuse is not None else 0.0
        out = self.mesh.join(near[0], far[0], ohms + plug + held)
        back = self.mesh.join(far[1], near[1], ohms + plug)
        self.leads[key] = (out, back)
        return out, back

    def _lay(self, name: str) -> _Line:
        house, chain = self.house, self.chains[name]
        feeds = [(f, chain.spot(f.at)) for f in self.feeds if f.line == name]
        trunks = [t for t in house.trunks if t.line == name]
        taps = [row for t in trunks for row in self.taps.values() if row[0].trunk == t.name]
        ties = {b.name: list(_ties(b, chain)) for b in house.buses if b.line == name}
        spots = [p for _, p in (*feeds, *taps)] + [p for row in ties.values() for p in row]
        nodes: list[float] = []
        for s in sorted([*chain.s, *(p.s for p in spots)]):
            if not nodes or s - nodes[-1] > 1e-6:
                nodes.append(s)
        line = _Line(chain, nodes, [], ties)
        line.joints = sorted({(line.node(p), p.x) for p in spots})
        sources = [(p.s, f.supply) for f, p in feeds]
        supply = {t.name: t.supply for t in trunks}
        sources += [(p.s, supply[t.trunk]) for t, p in taps]
        self._string(line, self._cuts(chain, sources))
        for k, s in enumerate(chain.s):
            n, pixel = line.node(Spot(0, s)), chain.span.first + k
            self.plus[pixel], self.minus[pixel] = self._at(name, n)
        for feed, p in feeds:
            ohms = self.ohms(feed.wire, feed.length) if feed.wire else 0.0
            plug = p.connector if feed.wire else 0
            ends = self._lead(
                ("feed", feed.name),
                self.supply(feed.supply),
                self._at(name, line.node(p)),
                ohms,
                feed.fuse,
                plug,
            )
            if plug:
                line.plugs.setdefault(plug, []).extend(ends)
        for trunk in trunks:
            self._trunk(trunk, line)
        for bus in (b for b in house.buses if b.line == name):
            self._bus(bus.name, bus.wire, bus.tie_fuse, ties[bus.name], line)
        return line

    def _at(self, line: str, n: int) -> Ends:
        return self.mesh.at("out", line, n), self.mesh.at("back", line, n)

    def supply(self, name: str) -> Ends:
        return self.mesh.at("plus", name), self.mesh.at("minus", name)

    def _string(self, line: _Line, cuts: list[float]) -> None:
        name, contact = line.chain.span.name, self.house.string.contact_ohms
        size = self.house.wire_defaults.string
        for n, (a, b) in enumerate(pairwise(line.nodes)):
            ohms = self.ohms(size, b - a)
            inside = [c for c in line.chain.spots[1:-1] if a - 1e-6 <= c.s <= b + 1e-6]
            for c in inside:
                ohms += contact / 2 if min(c.s - a, b - c.s) <= 1e-6 else contact
            for side in (0, 1):
                if side == 0 and any(a < cut <= b for cut in cuts):
                    continue
                branch = self.mesh.join(self._at(name, n)[side], self._at(name, n + 1)[side], ohms)
                run = line.runs.setdefault(("string", name, "out" if side == 0 else "back"), [])
                run.append((n, branch))
                for c in inside:
                    line.plugs.setdefault(c.connector, []).append(branch)

    def _trunk(self, trunk: Trunk, line: _Line) -> None:
        chain, name = line.chain, trunk.name
        start, stop = chain.spot(trunk.start).x, chain.spot(trunk.stop).x
        low, high = min(start, stop), max(start, stop)
        rows = [
            (tap, p, min(max(p.x, low), high)) for tap, p in self.taps.values() if tap.trunk == name
        ]
        places = [start]
        for x in sorted((x for _, _, x in rows), key=lambda x: abs(x - start)):
            if abs(x - places[-1]) > 1e-6:
                places.append(x)
        here = [
            (self.mesh.at("t+", name, k), self.mesh.at("t-", name, k)) for k in range(len(places))
        ]
        self._lead(
            ("trunk", name),
            self.supply(trunk.supply),
            here[0],
            self.ohms(trunk.wire, trunk.length),
            trunk.fuse,
            0,
        )
        for k, (a, b) in enumerate(pairwise(places)):
            ohms = self.ohms(trunk.wire, abs(b - a))
            ends = (
                self.mesh.join(here[k][0], here[k + 1][0], ohms),
                self.mesh.join(here[k + 1][1], here[k][1], ohms),
            )
            self.stretches.setdefault(name, []).append(((a + b) / 2, ends))
        for tap, p, x in rows:
            k = int(np.abs(np.array(places) - x).argmin())
            own = self._lead(
                ("tap", tap.name),
                here[k],
                self._at(chain.span.name, line.node(p)),
                self.ohms(tap.wire, tap.length),
                tap.fuse,
                p.connector,
            )
            if p.connector:
                line.plugs.setdefault(p.connector, []).extend(own)

    def _bus(self, name: str, size: str, fuse: float | None, ties: list[Spot], line: _Line) -> None:
        own = [(self.mesh.at("b+", name, k), self.mesh.at("b-", name, k)) for k in range(len(ties))]
        for k, (a, b) in enumerate(pairwise(ties)):
            for side, word in ((0, "out"), (1, "back")):
                branch = self.mesh.join(own[k][side], own[k + 1][side], self.ohms(size, b.x - a.x))
                line.runs.setdefault(("bus", name, word), []).append((k, branch))
        for k, p in enumerate(ties):
            key = ("tie", f"{name}\t{k}")
            ends = self._lead(
                key, own[k], self._at(line.chain.span.name, line.node(p)), 0.0, fuse, p.connector
            )
            line.tied.setdefault(name, []).append(ends)

    def _cuts(self, chain: Chain, sources: list[tuple[float, str]]) -> list[float]:
        given = next(x.cuts for x in self.house.lines if x.name == chain.span.name)
        cuts = [chain.cut(text) for text in given]
        for (a, one), (b, other) in pairwise(sorted(sources, key=lambda row: row[0])):
            if one != other and not any(a < c <= b for c in cuts):
                cuts.append((a + b) / 2)
        return cuts


def _ties(bus: Bus, chain: Chain) -> Iterator[Spot]:
    if bus.ties:
        yield from sorted((chain.spot(t) for t in bus.ties), key=lambda p: p.s)
        return
    low, high = sorted(chain.spot(t).x for t in (bus.start, bus.stop))
    count = max(1, round((high - low) / bus.every)) if bus.every else 1
    for k in range(count + 1):
        yield chain.at(low + (high - low) * k / count)


def _all_feeds(house: House) -> list[Feed]:
    fed = {f.line for f in house.feeds} | {t.line for t in house.trunks}
    made = [
        Feed(f"{x.name} (no feed given)", house.supplies[0].name, x.name, "start", "", 0.0, None)
        for x in house.lines
        if x.name not in fed
    ]
    return [*house.feeds, *made]


def independent_budgets(site: Site) -> list[IndependentBudget]:
    """Return every budget of a house that is already known to make sense."""
    laid = Laid(site)
    house, share = laid.house, _shares(laid)
    found: list[IndependentBudget] = []

    def add(
        name: str, kind: str, limit: float, branches: list[int], signs: tuple[int, ...] = (1, -1)
    ) -> None:
        seen: list[NDArray[np.int64]] = []
        for branch in branches:
            for sign in signs:
                parts = _parts(share(branch) * sign)
                if parts.any() and not any((parts == other).all() for other in seen):
                    seen.append(parts)
                    found.append(IndependentBudget(name, kind, limit, parts))

    trunk_of = {t.name: t for t in house.trunks}
    for supply in house.supplies:
        own = [("feed", f.name) for f in laid.feeds if f.supply == supply.name]
        own += [("trunk", t.name) for t in house.trunks if t.supply == supply.name]
        if own:
            total = _parts(np.sum([share(laid.leads[key][0]) for key in own], axis=0))
            found.append(IndependentBudget(supply.name, "supply", supply.amps, total))
    crowd = {
        line.chain.span.name: 2
        + 2 * len(line.ties)
        + 2 * sum(t.line == line.chain.span.name for t in house.trunks)
        for line in laid.lines
    }
    rows = [("feed", f, 2) for f in laid.feeds]
    for trunk in house.trunks:
        rows.append(("trunk", trunk, crowd[trunk.line]))  # type: ignore[arg-type]
        rows += [("tap", t, 2) for t in house.taps if t.trunk == trunk.name]  # type: ignore[misc]
    for kind, row, together in rows:
        ends = laid.leads[kind, row.name]
        if row.fuse is not None:
            add(row.name, "branch", row.fuse / 1.25, [ends[0]])
        if row.wire:
            limit = _may(house, row.wire, together)
            add(row.name, "wire", limit, list(ends))
            for middle, pair in laid.stretches.get(row.name, []) if kind == "trunk" else []:
                for branch in pair:
                    add(
                        f"{row.name} trunk at {show_place(middle, house.unit)}",
                        "wire",
                        limit,
                        [branch],
                    )
    for line in laid.lines:
        name = line.chain.span.name
        described = any(f.wire for f in laid.feeds if f.line == name)
        if described or any(t.line == name for t in trunk_of.values()):
            _along(laid, line, crowd[name], share, found, add)
    return found


def _may(house: House, size: str, together: int) -> float:
    """The table's amps for heat and bundling: NEC 310.15(B)(1) and (C)(1), to 0.01 A below."""
    d = house.wire_defaults
    heat = min(1.0, ((d.insulation - d.ambient) / (d.insulation - 30)) ** 0.5)
    n = d.conductors or together
    bundle = 1.0 if n < 4 else 0.8 if n < 7 else 0.7 if n < 10 else 0.5
    return int(ampacity(wire(size), d.ampacity) * heat * bundle * 100 + 1e-6) / 100


def _parts(share: F) -> NDArray[np.int64]:
    """Whole 4096ths, rounded up (the export's own rule), with slack for the solve."""
    return np.ceil(np.clip(share, 0, 1) * 4096 - 0.004096).astype(np.int64)


def _shares(laid: Laid) -> Callable[[int], F]:
    """Return a function: branch -> (N,) of each pixel's current that it carries, signed."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components
    from scipy.sparse.linalg import splu

    house, mesh = laid.house, laid.mesh
    fed = {f.supply for f in laid.feeds} | {t.supply for t in house.trunks}
    used = [s.name for s in house.supplies if s.name in fed]
    nodes, entries = len(mesh.index), []
    for a, b, g in mesh.branches:
        entries += [(a, a, g), (b, b, g), (a, b, -g), (b, a, -g)]
    for k, name in enumerate(used):
        for node, sign in zip(laid.supply(name), (1.0, -1.0), strict=True):
            entries += [(node, nodes + k, sign), (nodes + k, node, sign)]
    rows, columns, _ = zip(*entries, strict=True)
    size = nodes + len(used)
    shape = coo_matrix((np.ones(len(rows)), (rows, columns)), shape=(size, size))
    # One node of each connected part is held at ground; no current can go that way and return.
    _, part = connected_components(shape, directed=False)
    for k in np.unique(part, return_index=True)[1]:
        entries.append((int(k), int(k), 1.0))
    rows, columns, values = zip(*entries, strict=True)
    solver = splu(coo_matrix((values, (rows, columns)), shape=(size, size)).tocsc())

    def share(branch: int) -> F:
        a, b, g = mesh.branches[branch]
        push = np.zeros(size)
        push[a], push[b] = g, -g
        volts = solver.solve(push)  # the matrix is its own transpose
        part: F = volts[laid.minus] - volts[laid.plus]
        return part

    return share


def _along(
    laid: Laid,
    line: _Line,
    together: int,
    share: Callable[[int], F],
    found: list[IndependentBudget],
    add: Callable[..., None],
) -> None:
    """Add the budgets of the string, buses, ties and connectors of a line."""
    house, name = laid.house, line.chain.span.name
    kinds = [("string", name, house.wire_defaults.string, line.joints)]
    for bus in (b for b in house.buses if b.line == name):
        joints = [(k, p.x) for k, p in enumerate(line.ties[bus.name])]
        kinds.append(("bus", bus.name, bus.wire, joints))
    for kind, owner, size, joints in kinds:
        limit = _may(house, size, together)
        seen: list[NDArray[np.int64]] = []
        for side, outward in (("out", 1), ("back", -1)):
            run = dict(line.runs[kind, owner, side])
            for n, x in joints:
                for branch, way in [(run.get(n), 1), (run.get(n - 1), -1)]:
                    if branch is None:
                        continue
                    parts = _parts(share(branch) * way * outward)
                    if parts.any() and not any((parts == other).all() for other in seen):
                        seen.append(parts)
                        place = f"{owner} {kind} at {show_place(x, house.unit)}"
                        found.append(IndependentBudget(place, "wire", limit, parts))
        fuse = next((b.tie_fuse for b in house.buses if (kind, b.name) == ("bus", owner)), None)
        if fuse is not None:
            for (out, _), p in zip(line.tied[owner], line.ties[owner], strict=True):
                add(f"{owner} tie at {show_place(p.x, house.unit)}", "branch", fuse / 1.25, [out])
    if house.string.connector_amps is not None:
        for number, branches in sorted(line.plugs.items()):
            add(f"{name} connector {number}", "wire", house.string.connector_amps, branches)
