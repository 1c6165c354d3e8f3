"""The budgets of a house calculated independently, as a reference for `lumenmap.power.limits`.

Strategy: nothing here comes from the circuit, the limiter, or the code that calculates budgets. It
follows the same rules, though: which wires have a budget, and shares rounded up to 4096ths. Both conductors of all lines go into one sparse matrix with the supplies' currents among the
unknowns (modified nodal analysis), which a general solver takes apart.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.units import length, show_place
from lumenmap.house.model import House
from lumenmap.house.supplies import Feed
from lumenmap.parts.ampacity import ampacity
from lumenmap.parts.wires import wire
from lumenmap.pixels.pixelmap import LineSpan, PixelMap
from lumenmap.site import Site

F = NDArray[np.float64]

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
    span: LineSpan
    feeds: list[tuple[Feed, float]]
    ties: dict[str, list[float]]
    connections: list[float]
    runs: dict[tuple[str, str, str], list[tuple[float, int]]] = field(default_factory=dict)


def independent_budgets(site: Site) -> list[IndependentBudget]:
    """Return every budget of a house that is already known to make sense."""
    house, pixelmap = site.house, site.pixels
    mesh = _Mesh()
    plus, minus = np.empty(len(pixelmap), np.int64), np.empty(len(pixelmap), np.int64)
    ends: dict[str, tuple[int, int]] = {}
    lines = [_lay(house, pixelmap, span, mesh, plus, minus, ends) for span in pixelmap.lines]
    share = _shares(house, mesh, plus, minus)
    found: list[IndependentBudget] = []
    feeds = _all_feeds(house)
    for supply in house.supplies:
        own = [share(ends[f.name][0]) for f in feeds if f.supply == supply.name]
        if own:
            found.append(
                IndependentBudget(supply.name, "supply", supply.amps, _parts(np.sum(own, axis=0)))
            )
    for feed in feeds:
        out, back = (_parts(share(branch)) for branch in ends[feed.name])
        if feed.fuse is not None:
            found.append(IndependentBudget(feed.name, "branch", feed.fuse / 1.25, out))
        if feed.wire:
            limit = ampacity(wire(feed.wire), house.wire_defaults.ampacity)
            found.append(IndependentBudget(feed.name, "wire", limit, out))
            if (out != back).any():
                found.append(IndependentBudget(feed.name, "wire", limit, back))
    for line in lines:
        if not any(feed.wire for feed, _ in line.feeds):
            continue  # no feed of it is described, so its wire is unknown
        found += _along(house, line, share)
    return found


def _parts(share: F) -> NDArray[np.int64]:
    """Whole 4096ths, rounded up (the export's own rule), with slack for the solve."""
    return np.ceil(np.clip(share, 0, 1) * 4096 - 0.004096).astype(np.int64)


def _all_feeds(house: House) -> list[Feed]:
    bare = [x.name for x in house.lines if x.name not in {f.line for f in house.feeds}]
    made = [
        Feed(f"{name} (no feed given)", house.supplies[0].name, name, "start", "", 0.0, None)
        for name in bare
    ]
    return [*house.feeds, *made]


def _metres(text: str, span: LineSpan, unit: str) -> float:
    known = {"start": 0.0, "middle": span.length / 2, "end": span.length}
    return known[text] if text in known else min(float(length(text, unit)), span.length)


def _lay(
    house: House,
    pixelmap: PixelMap,
    span: LineSpan,
    mesh: _Mesh,
    plus: NDArray[np.int64],
    minus: NDArray[np.int64],
    ends: dict[str, tuple[int, int]],
) -> _Line:
    unit, hot = house.unit, house.wire_defaults.celsius
    feeds = [(f, _metres(f.at, span, unit)) for f in _all_feeds(house) if f.line == span.name]
    ties: dict[str, list[float]] = {}
    for bus in (b for b in house.buses if b.line == span.name):
        low, high = sorted(_metres(t, span, unit) for t in (bus.start, bus.stop))
        count = max(1, round((high - low) / bus.every)) if bus.every else 1
        ties[bus.name] = [low + (high - low) * k / count for k in range(count + 1)]
    pixels = pixelmap.along_line[span.slice]
    connections = sorted({at for _, at in feeds} | {t for row in ties.values() for t in row})
    positions: list[float] = []
    for position in sorted([*pixels.tolist(), *connections]):
        if not positions or position - positions[-1] > 1e-6:
            positions.append(position)
    line = _Line(span, feeds, ties, connections)
    cuts = _cuts(house, span, feeds)
    string = wire(house.wire_defaults.string)
    for side in ("out", "back"):
        run = line.runs.setdefault(("string", span.name, side), [])
        for k in range(len(positions) - 1):
            cut = any(positions[k] < c <= positions[k + 1] for c in cuts)
            if side == "back" or not cut:
                a, b = mesh.at(side, span.name, k), mesh.at(side, span.name, k + 1)
                branch = mesh.join(a, b, string.ohms(positions[k + 1] - positions[k], hot))
                run.append(((positions[k] + positions[k + 1]) / 2, branch))
    nearest = [int(np.abs(np.array(positions) - p).argmin()) for p in pixels]
    plus[span.slice] = [mesh.at("out", span.name, k) for k in nearest]
    minus[span.slice] = [mesh.at("back", span.name, k) for k in nearest]
    for feed, at in feeds:
        k = int(np.abs(np.array(positions) - at).argmin())
        ohms = wire(feed.wire).ohms(feed.length, hot) if feed.wire else 0.0
        held = house.wire_defaults.contact_ohms if feed.fuse is not None else 0.0
        out = mesh.join(mesh.at("plus", feed.supply), mesh.at("out", span.name, k), ohms + held)
        back = mesh.join(mesh.at("back", span.name, k), mesh.at("minus", feed.supply), ohms)
        ends[feed.name] = (out, back)
    for name, row in ties.items():
        size = wire(next(b.wire for b in house.buses if b.name == name))
        for side in ("out", "back"):
            run = line.runs.setdefault(("bus", name, side), [])
            for k, at in enumerate(row):
                here = mesh.at(f"bus {side}", name, k)
                line_node = int(np.abs(np.array(positions) - at).argmin())
                mesh.join(here, mesh.at(side, span.name, line_node), 0.0)
                if k:
                    before = mesh.at(f"bus {side}", name, k - 1)
                    branch = mesh.join(before, here, size.ohms(at - row[k - 1], hot))
                    run.append(((at + row[k - 1]) / 2, branch))
    return line


def _cuts(house: House, span: LineSpan, feeds: list[tuple[Feed, float]]) -> list[float]:
    given = next(x.cuts for x in house.lines if x.name == span.name)
    cuts = [_metres(text, span, house.unit) for text in given]
    ranked = sorted(feeds, key=lambda pair: pair[1])
    for k in range(len(ranked) - 1):
        (one, left), (other, right) = ranked[k], ranked[k + 1]
        if one.supply != other.supply and not any(left < c <= right for c in cuts):
            cuts.append((left + right) / 2)
    return cuts


def _shares(
    house: House, mesh: _Mesh, plus: NDArray[np.int64], minus: NDArray[np.int64]
) -> Callable[[int], F]:
    """Return a function: branch -> (N,) of each pixel's current that it carries, signed."""
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components
    from scipy.sparse.linalg import splu

    used = [s.name for s in house.supplies if s.name in {f.supply for f in _all_feeds(house)}]
    nodes, entries = len(mesh.index), []
    for a, b, g in mesh.branches:
        entries += [(a, a, g), (b, b, g), (a, b, -g), (b, a, -g)]
    for k, name in enumerate(used):
        for node, sign in ((mesh.at("plus", name), 1.0), (mesh.at("minus", name), -1.0)):
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
        part: F = volts[minus] - volts[plus]
        return part

    return share


def _along(house: House, line: _Line, share: Callable[[int], F]) -> list[IndependentBudget]:
    """Return the budgets of the string and buses of a line, next to each connection."""
    found = []
    size = {
        "string": {line.span.name: house.wire_defaults.string},
        "bus": {b.name: b.wire for b in house.buses},
    }
    for kind, owner in [("string", line.span.name), *(("bus", name) for name in line.ties)]:
        limit = ampacity(wire(size[kind][owner]), house.wire_defaults.ampacity)
        seen: list[NDArray[np.int64]] = []
        for side, outward in (("out", 1), ("back", -1)):
            run = line.runs[kind, owner, side]
            for at in line.connections:
                after = [branch for middle, branch in run if middle > at][:1]
                before = [branch for middle, branch in run if middle < at][-1:]
                for branch, way in [*((x, 1) for x in after), *((x, -1) for x in before)]:
                    parts = _parts(share(branch) * way * outward)
                    if parts.any() and not any((parts == other).all() for other in seen):
                        seen.append(parts)
                        found.append(
                            IndependentBudget(
                                f"{owner} {kind} at {show_place(at, house.unit)}",
                                "wire",
                                limit,
                                parts,
                            )
                        )
    return found
