"""How fast a show becomes bytes: ``python -m tests.bench``. Prints ratios from one run.

The same two-layer show (chase under a drifting gradient, screened), limited to one supply and
quantised, three ways: lumenmap's own stages, a hand-written numpy script that knows just this show,
and a plain per-pixel Python loop. All three give the same codes, to one step.
"""

from __future__ import annotations

import math
import tempfile
import time
from pathlib import Path

import numpy as np

import lumenmap
from tests.small_house import WALL

FRAMES = 900
LOOP_FRAMES = 6

HOUSE = (
    WALL.replace("[10, 0, 3]", "[20, 0, 3]")
    .replace("amps = 10", "amps = 20")
    .replace('kind = "ws2811-12v"', 'kind = "ws2811-12v", order = "RGB"')
)
SHOW = f"""
[show]
house = "house.toml"
fps = 30
length = {FRAMES / 30}
match_screen = false
[limit]
mode = "frame"
dither = false
[palette.a]
stops = ["#ff3000", "#ffc080", "#802000"]
[palette.b]
stops = ["#0020ff", "#60ffd0", "#101040"]
[[cue]]
[[cue.layer]]
effect = "chase"
palette = "a"
speed = 1.2
spacing = 1.5
way = "line"
[[cue.layer]]
effect = "gradient"
palette = "b"
blend = "screen"
way = "across"
length = 9
speed = 0.4
"""


def tables(work: lumenmap.Project) -> tuple[np.ndarray, np.ndarray]:
    """The two look-up tables, drawn by the effects themselves: one repeat at fine steps."""
    from effects.travel.chase import _pattern

    first, second = (planned.layer.palette for planned in work.plan.tiles[0].cues[0].layers)
    options = work.plan.tiles[0].cues[0].layers[0].options
    stripe = _pattern(first, options["lit"], options["taper"], False)
    return np.array(stripe.table), np.array(second.table)


def ours(work: lumenmap.Project) -> np.ndarray:
    return np.concatenate([block.codes for block in lumenmap.limited(work)])


def by_hand(work: lumenmap.Project, chase: np.ndarray, drift: np.ndarray) -> np.ndarray:
    """A competent script: tables, blocks that fit the cache, whole-array numpy."""
    x = work.site.pixels.along_line
    across = x - x.min()
    n, step = len(x), 8
    milliamps, idle, budget = 18.5, 0.7e-3 * n, 20.0
    out = np.empty((FRAMES, n, 3), np.uint8)
    for first in range(0, FRAMES, step):
        t = np.arange(first, min(first + step, FRAMES))[:, None] / 30
        u = (x / 4.5 - 1.2 * t / 4.5) % 1.0
        a = chase[(u * len(chase) + 0.5).astype(np.int32) & (len(chase) - 1), :3]
        v = ((across - 0.4 * t) / 9) % 1.0
        b = drift[(v * len(drift) + 0.5).astype(np.int32) & (len(drift) - 1), :3]
        light = a + b - a * b
        codes = np.rint(light * 255)
        amps = codes.sum(axis=(1, 2)) / 255 * milliamps / 1000 + idle
        for k in np.flatnonzero(amps > budget):
            gain = (budget - idle) / (amps[k] - idle) * 0.9995
            codes[k] = np.rint(light[k] * 255 * gain)
        out[first : first + len(t)] = codes.astype(np.uint8)
    return out


def by_loop(work: lumenmap.Project, chase: np.ndarray, drift: np.ndarray) -> np.ndarray:
    """One pixel at a time, as a first script would do it."""
    xs = work.site.pixels.along_line.tolist()
    left = min(xs)
    one, two = chase[:, :3].tolist(), drift[:, :3].tolist()
    frames = []
    for frame in range(LOOP_FRAMES):
        t = frame / 30
        light, total = [], 0.0
        for x in xs:
            a = one[int((x / 4.5 - 1.2 * t / 4.5) % 1.0 * len(one) + 0.5) % len(one)]
            b = two[int((x - left - 0.4 * t) / 9 % 1.0 * len(two) + 0.5) % len(two)]
            pixel = [p + q - p * q for p, q in zip(a, b, strict=True)]
            light.append(pixel)
            total += sum(round(v * 255) for v in pixel)
        idle = 0.7e-3 * len(xs)
        amps = total / 255 * 18.5 / 1000 + idle
        gain = min(1.0, (20.0 - idle) / (amps - idle) * 0.9995)
        frames.append([[math.floor(v * 255 * gain + 0.5) for v in pixel] for pixel in light])
    return np.array(frames, np.uint8)


def timed(make: object, frames: int, pixels: int, runs: int) -> tuple[float, np.ndarray]:
    """Pixel-frames/s of the best of some runs, and what it made."""
    best, got = math.inf, np.empty(0)
    for _ in range(runs):
        start = time.perf_counter()
        got = make()  # type: ignore[operator]
        best = min(best, time.perf_counter() - start)
    return frames * pixels / best, got


def main() -> None:
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "house.toml").write_text(HOUSE)
        (folder / "show.toml").write_text(SHOW)
        work = lumenmap.load(folder / "show.toml")
    chase, drift = tables(work)
    n = len(work.site.pixels)
    mine, codes = timed(lambda: ours(work), FRAMES, n, 5)
    hand, hand_codes = timed(lambda: by_hand(work, chase, drift), FRAMES, n, 5)
    loop, loop_codes = timed(lambda: by_loop(work, chase, drift), LOOP_FRAMES, n, 1)
    for name, other in (("script", hand_codes), ("loop", loop_codes)):
        off = np.abs(codes[: len(other)].astype(int) - other)
        # Table entries next to a boundary may differ by rounding of the phase.
        print(f"codes beside the {name}: {np.mean(off <= 1):.2%} equal to one step")
    print(f"{n:,} pixels, {FRAMES} frames, two layers, limited, quantised; one core")
    print(f"lumenmap             {mine / 1e6:8.2f} M pixel-frames/s")
    print(f"numpy script by hand {hand / 1e6:8.2f}   time ours / script: {hand / mine:.2f}")
    print(f"per-pixel loop       {loop / 1e6:8.2f}   ours / loop: {mine / loop:.0f} x")


if __name__ == "__main__":
    main()
