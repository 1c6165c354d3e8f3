"""Make films of twelve houses, wired rightly or wrongly, read them, and count what is found.

``python -m tests.camera.films [--wrong 40] [--right 20] [--passes 4] [--seed 100] [--house 0]
[--first 0] [--stop 60] [--with breathing,traffic]`` (not in CI: a quarter of a minute a film). Other
seeds and houses from another number on are films that nothing was tuned on; ``--with`` adds what else
phones and streets do (`tests.camera.street.troubles`). A fault that no film could show, since what
hides pixels hides all that is wrong, is counted as missed, and told.

``--pairs`` makes two films of each house, from both sides or from before and behind, and prints what
each shows alone and what both show together. The second is smaller, at another frame rate, and of
another round of the blinking.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from pathlib import Path

import numpy as np

from lumenmap.camera.blinks.blinking import Blinking
from lumenmap.camera.faults.diagnose import diagnose
from lumenmap.camera.film.read import read_film
from lumenmap.core.errors import InputError
from lumenmap.site import Site
from tests.camera.faults.pairs import BACK, SIDES
from tests.camera.filming import Scene, film
from tests.camera.houses import FAULTS, house_text, on_holes, wired
from tests.camera.standing import Take
from tests.camera.street.troubles import NAMES


def one(number: int, fault: str | None, seed: int, passes: int, folder: Path, **take):
    """Make one film and read it; return (told, found faults, figures)."""
    file = folder / "house.toml"
    file.write_text(house_text(number))
    site = Site.read(file)
    rng = np.random.default_rng(seed)
    wires, dark, orders, told = wired(site, fault, rng)
    blinking = Blinking(len(site.pixels), 3, passes)
    light = on_holes(site, blinking.light(0.3), wires, dark, orders)
    scene = Scene(site, Take(seed=seed, **take))
    path = folder / "film.mp4"
    film(path, scene, light)
    begun, used = time.perf_counter(), time.process_time()
    filmed = read_film(path, blinking)
    found = diagnose(site, {"film.mp4": filmed})
    figures = {
        "film": filmed.seconds,
        "read": time.perf_counter() - begun,
        "cpu": time.process_time() - used,
        "pixels": len(site.pixels),
        "visible": int(scene.visible.sum()),
        "told": in_sight(site, scene.visible, wires, dark),
        "seen": len(set(filmed.spots.number.tolist())),
        "off": float(np.linalg.norm(found.films[0].shot.position - scene.camera.position)),
        "sizes": path.stat().st_size / 1e6,
        "dark": dark,
    }
    return told, found.faults, figures


def two(number: int, fault: str | None, seed: int, passes: int, folder: Path, *, back, **take):
    """Make two films of a house; return what should be found, and what is in each and in both."""
    file = folder / "house.toml"
    file.write_text(house_text(number, behind=back))
    site = Site.read(file)
    wires, dark, orders, told = wired(site, fault, np.random.default_rng(seed))
    blinking = Blinking(len(site.pixels), 3, passes)
    light = on_holes(site, blinking.light(0.3), wires, dark, orders)
    films = {}
    usual = {"width": 960, "height": 540}
    others = {"width": 864, "height": 486, "fps": 25.0, "before": 2.9}
    for k, at in enumerate(BACK if back else SIDES):
        how = {**take, **(others if k else usual)}
        scene = Scene(site, Take(seed=seed + 5000 * k, bearing=at, hung=seed, **how))
        path = folder / f"film {k + 1}.mp4"
        film(path, scene, light)
        try:
            films[path.name] = read_film(path, blinking)
        except InputError as error:  # as the command does, the other is judged without it
            print("  ", error)
    names = ["film 1.mp4", "film 2.mp4"]
    return told, dark, [_judged(site, films, own) for own in (names[:1], names[1:], names)]


def _judged(site, films, names):
    """What those of the films that could be read say, if anything."""
    own = {name: films[name] for name in names if name in films}
    try:
        return diagnose(site, own) if own else None
    except InputError as error:
        print("  ", error)
        return None


def pairs(asked, troubles) -> None:
    """Print a table of what pairs of films show alone and together."""
    jobs = [FAULTS[i % len(FAULTS)] for i in range(asked.wrong)] + [None] * asked.right
    named = []
    for i, fault in enumerate(jobs[asked.first : asked.stop], asked.first):
        with tempfile.TemporaryDirectory() as folder:
            how = asked.seed + i, asked.passes, Path(folder)
            back = i % 3 == 2
            told, dark, found = two(
                asked.house + i % 12, fault, *how, back=back, hidden=asked.hidden, troubles=troubles
            )
        ok = [d is not None and right(told, d.faults, dark) for d in found]
        named.append((fault, *ok))
        seen = " ".join(str(0 if d is None else int(d.seen.any(0).sum())) for d in found)
        where = "front, back" if back else "both sides"
        marks = " ".join("ok " if k else "NOT" for k in ok)
        print(f"{i:3} {fault or 'right':10} {where:11} first, second, both: {marks} seen {seen}")
        for d in found[2:]:
            for said in [*(f.words for f in d.faults), *d.contradictions] if d else []:
                print("     ", said)
        for wrong in (True, False):
            own = [n for n in named if (n[0] is not None) is wrong]
            neither = [n[3] for n in own if not n[1] and not n[2]]
            print(
                f"  {'wrong' if wrong else 'right'}: first {sum(n[1] for n in own)}, second "
                f"{sum(n[2] for n in own)}, together {sum(n[3] for n in own)} of {len(own)}; of "
                f"{len(neither)} that neither told, together {sum(neither)}",
                flush=True,
            )


def in_sight(site, visible, wires, dark) -> int:
    """How many pixels that aren't where the map has them, or stay dark, aren't hidden."""
    holes = set(dark)
    for span in site.pixels.lines:
        own = wires[span.name][: span.count]
        holes |= {h for n, h in enumerate(own, span.first) if h is not None and h != n}
    return int(visible[list(holes)].sum()) if holes else 0


def right(told, faults, dark) -> bool:
    """Whether just the planted fault was found and named."""
    kind, line, edge = told
    if kind is None:
        return not faults
    if len(faults) != 1 or faults[0].kind != kind or line not in faults[0].lines:
        return False
    if kind == "reversed" and faults[0].edges != (edge,):
        return False
    return kind != "dark" or bool(set(faults[0].pixels) & dark)


def main() -> None:
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--wrong", type=int, default=40)
    ask.add_argument("--right", type=int, default=20)
    ask.add_argument("--passes", type=int, default=4)
    ask.add_argument("--seed", type=int, default=100, help="of the first film")
    ask.add_argument("--house", type=int, default=0, help="number of the first of twelve houses")
    ask.add_argument("--first", type=int, default=0)
    ask.add_argument("--stop", type=int, default=None)
    ask.add_argument("--with", dest="troubles", default="", help=", ".join(NAMES))
    ask.add_argument("--pairs", action="store_true", help="two films of each house")
    ask.add_argument("--hidden", type=float, default=0.5, help="part of each of a pair's views")
    asked = ask.parse_args()
    troubles = tuple(name for name in asked.troubles.split(",") if name)
    if asked.pairs:
        pairs(asked, troubles)
        return
    jobs: list[str | None] = [FAULTS[i % len(FAULTS)] for i in range(asked.wrong)]
    jobs += [None] * asked.right
    good = {True: 0, False: 0}
    count = {True: 0, False: 0}
    for i, fault in enumerate(jobs[asked.first : asked.stop], asked.first):
        with tempfile.TemporaryDirectory() as folder:
            try:
                number = asked.house + i % 12
                how = asked.seed + i, asked.passes, Path(folder)
                told, faults, f = one(number, fault, *how, troubles=troubles)
            except Exception as error:  # counted as not found
                told, faults, f = (fault, "", ""), None, {"dark": set()}
                print("  ", type(error).__name__, error)
        dark = f.pop("dark")
        ok = faults is not None and right(told, faults, dark)
        good[fault is None] += ok
        count[fault is None] += 1
        figures = " ".join(f"{k} {v:.3g}" for k, v in f.items())
        print("ok " if ok else "NOT", i, i % 12, told, figures, flush=True)
        if not ok:
            if fault not in (None, "colours") and "told" in f:
                print(f"    in sight of it: {f['told']} pixels")
            for found in faults or []:
                print("    found:", found.kind, found.lines, found.edges, found.words)
        print(
            f"  wrong houses {good[False]}/{count[False]}, right houses {good[True]}/{count[True]}",
            flush=True,
        )


if __name__ == "__main__":
    main()
