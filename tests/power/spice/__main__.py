"""`python -m tests.power.spice 100`: solve random houses with ngspice too; print how they differ.

Each house is solved at full white and in one random state. Exits with 1 if any figure differs by
1e-5 V or 1e-5 A.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from tests.power.circuit.random_houses import random_house
from tests.power.spice.compare import SAME, compare
from tests.power.spice.odd_houses import odd_house


def main(count: int) -> int:
    """Compare so many houses; every other one has what random houses lack."""
    worst = {"V": (0.0, ""), "A": (0.0, "")}
    figures = 0
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(count):
            make = odd_house if seed % 2 else random_house
            for state in (None, seed):
                where = f"{make.__name__}({seed}), state {state}"
                try:
                    found = compare(make(seed), state, Path(folder))
                except Exception as error:
                    raise RuntimeError(where) from error
                figures += len(found.volts) + len(found.amps)
                for unit, rows in (("V", found.volts), ("A", found.amps)):
                    most = max(rows, key=lambda row: row.size)
                    if most.size >= SAME:
                        print(f"{where}: {most}")
                    said = f"{where}: {most.what}: {most.spice:.6f} and {most.ours:.6f}"
                    worst[unit] = max(worst[unit], (most.size, said))
    print(f"{count} houses, {figures} figures; largest differences, ngspice's and lumenmap's:")
    for unit, (size, said) in worst.items():
        print(f"{size:.2e} {unit} ({said})")
    return int(any(size >= SAME for size, _ in worst.values()))


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 100))
