"""What films of invented houses show, without the films: spots and their numbers, in milliseconds.

Its figures are those of films of `tests.camera.films` as they are read [K]: spots 0.1 px off, one in
200 missed, the first frame shifted by up to 10 px and turned by up to 2 mrad, six reflections. To
that comes what films of drawn houses don't have: lamps sit a few millimetres from the middle of
their holes (from memory), 0.2 px.

``python -m tests.camera.faults.traces [--count 300] [--seed 0] [--faults none,"too many","too few"]``
counts what is found in many of them, and tells how clear steps on right houses are by chance.
"""

from __future__ import annotations

import argparse
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest import mock

import numpy as np

from lumenmap.camera.faults import steps
from lumenmap.camera.faults.explain import explain
from lumenmap.camera.faults.wiring import wiring_faults
from lumenmap.camera.film.clock import Clock
from lumenmap.camera.film.read import Filmed
from lumenmap.camera.film.spots import Spots
from lumenmap.site import Site
from tests.camera.houses import house_text, wired
from tests.camera.lamps import Lamps
from tests.camera.standing import Take

SIZE = (1280, 720)


@cache
def house(number):
    """An invented house by its number."""
    with TemporaryDirectory() as folder:
        file = Path(folder) / "house.toml"
        file.write_text(house_text(number))
        return Site.read(file)


def trace(site, wires, seed, noise=0.2, dark=(), hide=(), missed=0.005, **take):
    """Spots of a film of a house with these wires; ``hide`` are holes that it doesn't show.

    The part ``missed`` of the others isn't read.
    """
    taken = Take(seed=seed, width=SIZE[0], height=SIZE[1], **take)
    lamps, rng = Lamps(site, taken), taken.rng
    visible = lamps.visible & (rng.random(len(lamps.visible)) > missed)
    visible[[*hide, *dark]] = False
    shift, turn, middle = rng.uniform(-10, 10, 2), rng.uniform(-0.002, 0.002), np.array(SIZE) / 2
    from_middle = lamps.places - middle
    turned = from_middle + turn * np.stack([-from_middle[:, 1], from_middle[:, 0]], axis=1)
    at = middle + turned + shift
    number, holes = [], []
    for span in site.pixels.lines:
        for k, hole in enumerate(wires[span.name][: span.count]):
            if hole is not None and visible[hole]:
                number.append(span.first + k)
                holes.append(hole)
    place = at[holes] + rng.normal(0, noise, (len(holes), 2))
    mirrored = rng.choice(len(number), min(taken.reflections, len(number)), replace=False)
    mirror = place[mirrored] + (rng.uniform(-30, 30), rng.uniform(40, 90))
    numbers = np.array(number)[[*range(len(number)), *mirrored]]
    return Spots(numbers, np.concatenate([place, mirror]), np.full(len(numbers), 80.0))


def filmed(spots):
    """A film in which nothing blinks where no spot is."""
    none = np.zeros((1, 1, 1), np.float32)
    blinks = np.zeros((4, SIZE[1], SIZE[0]), np.float32)
    still = np.zeros((SIZE[1], SIZE[0], 3), np.float32)
    colours = np.zeros((3, *still.shape), np.float32)
    return Filmed(spots, blinks, colours, still, none, Clock(0.0, 1.0), 1, 1.0, 0)


def explained(site, *spots):
    """What explains spots, those of one film each: (films, wiring)."""
    names = [f"film {k}" for k in range(1, len(spots) + 1)]
    found = explain(site, {name: filmed(s) for name, s in zip(names, spots, strict=True)})
    assert not found.left_out
    return found.evidence, found.wired


def found(number, fault, seed, **how):
    """The faults found on a house with a fault, and what should be: (kind, line, edge)."""
    site = house(number)
    wires, dark, _, told = wired(site, fault, np.random.default_rng(seed))
    spots = trace(site, wires, seed, dark=dark, **how)
    return wiring_faults(site, *explained(site, spots)), told


def right(faults, told):
    """Whether just the planted fault was found and named."""
    kind, line, edge = told
    if kind is None:
        return not faults
    if len(faults) != 1 or faults[0].kind != kind or line not in faults[0].lines:
        return False
    return kind != "reversed" or faults[0].edges == (edge,)


def clearest(number, seed):
    """How clear the clearest step is on a right house, whether that is told or not."""
    kept = []

    def first(*asked):
        if not kept:
            with mock.patch.object(steps, "CLEAR", -np.inf):
                kept.append(max((s.clear for s in steps.steps(*asked)), default=-np.inf))
        return []

    with mock.patch("lumenmap.camera.faults.explain.steps", first):
        found(number, None, seed)
    return kept[0]


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--count", type=int, default=300)
    ask.add_argument("--seed", type=int, default=0, help="of the first, and number of its house")
    ask.add_argument("--faults", default="none,too many,too few")
    asked = ask.parse_args()
    numbers = range(asked.seed, asked.seed + asked.count)
    for name in asked.faults.split(","):
        fault = None if name == "none" else name
        missed = [n for n in numbers if not right(*found(n, fault, n))]
        print(f"{name}: {asked.count - len(missed)} of {asked.count}; not {missed}", flush=True)
    clear = np.sort([clearest(n, n) for n in numbers])
    print("clearest steps of right houses:", clear[-10:].round(1), "told above", steps.CLEAR)


if __name__ == "__main__":
    main()
