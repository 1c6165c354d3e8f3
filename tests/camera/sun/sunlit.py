"""Shadows of the sun in photographs, and what is left of them in pictures by night.

``python -m tests.camera.sun.sunlit [-o FOLDER] [--houses NAME …] [--own]`` prints for each house and
weather the error of the light in OKLab over the house, with the sun's shadows taken out and with
them left in. Photographs and nights are by the independent renderer, by lumenmap's (``--own``), or
by Mitsuba, of a house in a street with plants, panes and a telephone (``--street``).
"""

from __future__ import annotations

import argparse
import tempfile
from contextlib import contextmanager
from pathlib import Path

import numpy as np
from PIL import Image

from lumenmap.camera.stage import stage
from lumenmap.site import Site
from tests.camera.photos import HOUSES, Pair, paired, site_of
from tests.camera.sun.daylight import Drawn, Once, Traced

#: Bearing and height of the sun, weather, and whether a tree stands before the house.
DAYS = (
    ((219.0, 37.0), "hazy", False),
    ((150.0, 50.0), "clear", False),
    ((240.0, 22.0), "clear", False),
    ((185.0, 58.0), "clear", False),
    ((200.0, 40.0), "clear", True),
    ((95.0, 30.0), "clear", False),
    (None, "overcast", False),
)


@contextmanager
def left_in():
    """The sun's shadows stay in photographs."""
    usual = stage.without_sun
    stage.without_sun = lambda photo, faces: photo
    try:
        yield
    finally:
        stage.without_sun = usual


def both(site: Site, seen, seed: int = 1, size=(960, 540)) -> tuple[Pair, Pair]:
    """With the sun's shadows taken out, and left in."""
    once = Once(seen)
    out = paired(site, seed, *size, once)
    with left_in():
        return out, paired(site, seed, *size, once)


def renderer(site: Site, day, asked: argparse.Namespace):
    """What takes the photographs of a day."""
    sun, weather, tree = day
    weather = weather if sun else "hazy"
    if asked.street:
        from tests.pictures.renderer.street import Street

        return Street(site, sun, weather, seed=asked.seed)
    return Drawn(site, sun) if asked.own else Traced(site, sun, weather, tree)


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("-o", type=Path, default=None, help="a folder for pictures")
    ask.add_argument("--houses", nargs="*", default=HOUSES)
    ask.add_argument("--days", nargs="*", type=int, default=range(len(DAYS)))
    ask.add_argument("--own", action="store_true", help="lumenmap's own renderer")
    ask.add_argument("--street", action="store_true", help="Mitsuba, and a street")
    ask.add_argument("--seed", type=int, default=1)
    asked = ask.parse_args()
    for k, name in enumerate(asked.houses):
        with tempfile.TemporaryDirectory() as folder:
            site = site_of(name, Path(folder))
        for n in asked.days:
            out, left = both(site, renderer(site, DAYS[n], asked), asked.seed + k)
            print(
                f"{name:14} sun {DAYS[n][0]!s:15} {DAYS[n][1]:8} {'tree' if DAYS[n][2] else '':4}  "
                f"OKLab {out.figures[0]:.4f}, shadows left in {left.figures[0]:.4f}, "
                f"without light {out.figures[1]:.3f}",
                flush=True,
            )
            if asked.o:
                sheet = [[out.photo, out.real], [left.drawn, out.drawn]]
                rows = np.vstack([np.hstack(row) for row in sheet])
                asked.o.mkdir(parents=True, exist_ok=True)
                Image.fromarray(rows).save(asked.o / f"sun-{name}-{n}.png")


if __name__ == "__main__":
    main()
