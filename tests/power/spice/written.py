"""A netlist in SPICE's own words: resistors with ammeters, and pixels as sources of current."""

from __future__ import annotations

from tests.power.spice.figures import Pixel
from tests.power.spice.netlist import Load, Netlist


def spice(netlist: Netlist) -> str:
    """Return a netlist as ngspice reads it."""
    rows = ["a house"]
    for (plus, minus), volts in zip(netlist.poles.values(), netlist.supplies.values(), strict=True):
        rows.append(f"Vs{plus} {plus} {minus} {volts!r}")
    for k, row in enumerate(netlist.branches):
        rows.append(f"Vr{k} {row.a} q{k} 0")
        rows.append(f"Rr{k} q{k} {row.b} {row.ohms!r}")
    for k, load in enumerate(netlist.loads):
        rows.append(f"Bx{k} {load.plus} {load.minus} I={_draws(netlist.pixel, load)}")
    rows += [f"Vz{k} 0 {node} 0" for k, node in enumerate(_grounds(netlist))]
    return "\n".join(rows)


def _grounds(netlist: Netlist) -> list[str]:
    """Return one minus terminal of each part that hangs together; each is SPICE's ground."""
    root: dict[str, str] = {}

    def find(node: str) -> str:
        while root.setdefault(node, node) != node:
            node = root[node]
        return node

    pairs = [*netlist.poles.values(), *((b.a, b.b) for b in netlist.branches)]
    for a, b in [*pairs, *((load.plus, load.minus) for load in netlist.loads)]:
        root[find(a)] = find(b)
    return list({find(minus): minus for _, minus in netlist.poles.values()}.values())


def _draws(pixel: Pixel, load: Load) -> str:
    """Return the current of a pixel as SPICE's expression of its voltage."""
    v = f"v({load.plus},{load.minus})"
    terms = [f"{pixel.idle_mA / 1000!r}*{_held(f'{v}/{min(pixel.off)!r}')}"]
    for off, full, amps in zip(pixel.off, pixel.full, load.amps, strict=True):
        terms.append(f"{amps!r}*{_held(f'({v}-{off!r})/{full - off!r}')}")
    return "+".join(terms)


def _held(expression: str) -> str:
    return f"max(0,min(1,{expression}))"
