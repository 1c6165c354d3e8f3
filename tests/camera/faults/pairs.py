"""What two films of one house show together, and what each shows alone; spots without the films.

``python -m tests.camera.faults.pairs [--count 20] [--seed 0] [--hidden 0.6] [--back] [--faults
none,reversed,…]`` prints a table: in how many pairs a fault is named by the first film, by the
second, by neither, and by both together; and how many together name what isn't there.
"""

from __future__ import annotations

import argparse
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from lumenmap.camera.faults.dark import dark_faults
from lumenmap.camera.faults.lights import lights_of
from lumenmap.camera.faults.wiring import wiring_faults
from lumenmap.core.errors import InputError
from lumenmap.site import Site
from tests.camera.faults.traces import explained, house, right, trace
from tests.camera.houses import FAULTS, house_text, wired

#: From where each film of a pair is taken (radians from straight ahead, to the left).
SIDES, BACK = (-0.45, 0.45), (-0.3, np.pi - 0.3)


@cache
def with_back(number):
    """An invented house with a line behind it."""
    with TemporaryDirectory() as folder:
        file = Path(folder) / "house.toml"
        file.write_text(house_text(number, behind=True))
        return Site.read(file)


def pair(number, fault, seed, *, back=False, hidden=0.6):
    """The house, the spots of two films of it, and what should be found."""
    site = (with_back if back else house)(number % 12)
    wires, dark, _, told = wired(site, fault, np.random.default_rng(seed))
    # In these films, unlike real ones, nothing tells a pixel that is missed from a dark one.
    how = {"dark": dark, "missed": 0.0 if dark else 0.005}
    films = [
        trace(site, wires, seed + 5000 * k, bearing=at, hidden=hidden, hung=seed, **how)
        for k, at in enumerate(BACK if back else SIDES)
    ]
    return site, films, told


def judged(site, *spots, light=False):
    """What films show, together: faults of the wiring, and of the ``light`` if that is asked for."""
    try:
        films, wiring = explained(site, *spots)
    except InputError:
        return []
    found = wiring_faults(site, films, wiring)
    return found + (dark_faults(site, lights_of(site, films, wiring)) if light else [])


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--count", type=int, default=20)
    ask.add_argument("--seed", type=int, default=0, help="of the first, and number of its house")
    ask.add_argument("--hidden", type=float, default=0.6, help="part of what each film can see")
    ask.add_argument("--back", action="store_true", help="the second film is taken from behind")
    ask.add_argument("--faults", default=",".join(["none", *FAULTS[:-1]]))
    asked = ask.parse_args()
    print(f"{'':10} first second neither both | of neither's, by both | others than planted")
    for name in asked.faults.split(","):
        fault = None if name == "none" else name
        named = np.zeros((asked.count, 3), bool)
        alarms: list[int] = []
        for row, seed in enumerate(range(asked.seed, asked.seed + asked.count)):
            how = {"back": asked.back, "hidden": asked.hidden}
            site, films, told = pair(seed, fault, seed, **how)
            light = fault == "dark"
            each = [judged(site, *own, light=light) for own in (films[:1], films[1:], films)]
            named[row] = [right(faults, told) for faults in each]
            if any(f.kind != fault for f in each[2]):
                alarms.append(seed)
        one, two, both = named.T
        rest = ~one & ~two
        print(
            f"{name:10} {one.sum():5} {two.sum():6} {rest.sum():7} {both.sum():4} | "
            f"{(rest & both).sum():10} of {rest.sum():3}      | {alarms} "
            f"lost together {np.flatnonzero((one | two) & ~both) + asked.seed}",
            flush=True,
        )


if __name__ == "__main__":
    main()
