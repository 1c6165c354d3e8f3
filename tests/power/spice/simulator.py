"""Runs ngspice (Debian package `ngspice`) on a netlist, and reads what it writes."""

from __future__ import annotations

import subprocess
import tempfile
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from tests.power.spice.netlist import Branch, Netlist
from tests.power.spice.written import spice

#: Piecewise linear loads: exact once the right pieces are found, so tight tolerances cost nothing.
#: Nodes that a cut leaves hanging hold on to ground by 1e12 ohm.
OPTIONS = """
.options reltol=1e-7 abstol=1e-8 vntol=1e-8 itl1=500 gminsteps=30 srcsteps=30 rshunt=1e12
.control
op
set filetype=binary
write {out} all
quit
.endc
.end
"""


class Solved(NamedTuple):
    """V at every pixel, A out of every supply, A of every branch."""

    volts: NDArray[np.float64]
    supplies: dict[str, float]
    branches: list[tuple[Branch, float]]


def simulate(netlist: Netlist) -> Solved:
    """Return ngspice's operating point."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder, "out.raw")
        source = Path(folder, "house.cir")
        source.write_text(spice(netlist) + OPTIONS.format(out=out), "ascii")
        done = subprocess.run(
            ["ngspice", "-b", str(source)], capture_output=True, text=True, timeout=300
        )
        if not out.exists():
            raise RuntimeError(f"ngspice found no solution:\n{done.stdout}\n{done.stderr}")
        found = _read(out.read_bytes())
    volts = [found[f"v({load.plus})"] - found[f"v({load.minus})"] for load in netlist.loads]
    supplies = {n: -found[f"i(vs{plus})"] for n, (plus, _) in netlist.poles.items()}
    branches = [(row, found[f"i(vr{k})"]) for k, row in enumerate(netlist.branches)]
    return Solved(np.array(volts), supplies, branches)


def _read(raw: bytes) -> dict[str, float]:
    """Return the one point of a binary raw file, by variable."""
    head, _, body = raw.partition(b"Binary:\n")
    rows = head.decode("ascii").partition("\nVariables:")[2].splitlines()
    names = [row.split()[1] for row in rows if len(row.split()) >= 3]
    values = np.frombuffer(body, "<f8", count=len(names))
    return dict(zip(names, values.tolist(), strict=True))
