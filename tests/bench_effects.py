"""How fast shows are rendered, beside a fused numba kernel and a per-pixel loop.

Run: python -m tests.bench_effects        (needs numba: pip install numba)

All ratios are of one run on one machine; each figure is the best of several.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
import tracemalloc
from concurrent.futures import ProcessPoolExecutor
from functools import lru_cache, partial
from pathlib import Path

import numpy as np

from lumenmap.colour.palette import Palette
from lumenmap.frames.parallel import render_on
from lumenmap.frames.plan import part, spans
from lumenmap.frames.planned import Plan, PlannedCue, PlannedLayer, Tile
from lumenmap.frames.render import default_block, render
from lumenmap.motion.at import At
from lumenmap.motion.distance import Distance
from lumenmap.motion.ramp import Ramp
from lumenmap.power.limits.budgets import Budgets
from lumenmap.power.limits.limit import limit
from lumenmap.power.limits.parts import Parts, in_parts
from lumenmap.show.effects.effect import Effect
from lumenmap.show.effects.registry import effects
from lumenmap.show.model import Cue, Layer, Show

FPS = 40.0


def places(count: int) -> At:
    along = np.arange(count) * 0.0762
    edge = np.minimum(along, 12.0)
    xyz = np.stack([along % 12, np.zeros(count), 3 + along % 5], -1)
    return At(
        xyz,
        along,
        edge,
        np.full(count, 12.0),
        np.tile([0.0, -1, 0], (count, 1)),
        np.full(count, along[-1] + 1),
        xyz.min(0),
        xyz.max(0),
        {},
        {"round": Distance(along, np.full(count, along[-1] + 1), along[-1] + 1)},
    )


def show_of(count: int, frames: int, opacity: float | Ramp = 1.0, **ramped: Ramp) -> Plan:
    """Plan a chase with a second chase screened over it; the first with ramps, if any."""
    known = effects()["chase"]
    warm = Palette("warm", ["#ffb347", "#ff5500", "#7a0019"])
    cold = Palette("cold", ["#dff3ff", "#06122e"])
    layers = (
        Layer(known, known.read({}) | ramped, warm, (), "normal", opacity, "layer[0]"),
        Layer(
            known,
            known.read({"speed": "-1.7 m/s", "spacing": "3 m"}),
            cold,
            (),
            "screen",
            1.0,
            "layer[1]",
        ),
    )
    cue = Cue("all", 0.0, frames / FPS, 0.0, 0.0, layers)
    at = places(count)
    tiles = []
    for span in spans(count):
        here = part(at, span)
        planned = tuple(PlannedLayer(x, here, None, x.options) for x in layers)
        tiles.append(Tile(span.start, len(here.xyz), (PlannedCue(cue, planned),)))
    show = Show("bench", Path("bench.toml"), None, FPS, frames, 1, (cue,))
    return Plan(show, count, tuple(tiles), np.empty(0, np.intp))


@lru_cache
def one_supply(pixels: int) -> Budgets:
    """Return what a house knows before its first frame: one supply with enough for every pixel."""
    return Budgets(
        ("one",),
        ("supply",),
        np.array([pixels * 0.06]),
        np.array([pixels * 0.0007]),
        Parts((in_parts(np.arange(pixels), np.ones(pixels)),), pixels),
        np.full(3, 0.0185),
    )


def to_bytes(light: np.ndarray) -> np.ndarray:
    """Return codes as users get them: rounded, and counted against the supply."""
    return limit(light, one_supply(light.shape[1])).codes


def each_option(frames: int, only: str = "") -> None:
    """Print what a ramp of each option of each effect costs, alone on 1,000 pixels."""
    palette, at = Palette("warm", ["#ffb347", "#ff5500", "#7a0019"]), places(1000)
    seconds = frames / FPS

    def plan_of(effect: Effect, **options: object) -> Plan:
        layer = Layer(effect, effect.read({}) | options, palette, (), "normal", 1.0, "layer")
        cue = Cue("all", 0.0, seconds, 0.0, 0.0, (layer,))
        tile = Tile(0, 1000, (PlannedCue(cue, (PlannedLayer(layer, at, None, layer.options),)),))
        show = Show("bench", Path("bench.toml"), None, FPS, frames, 1, (cue,))
        return Plan(show, 1000, (tile,), np.empty(0, np.intp))

    for effect in effects().values():
        for name, spec in effect.options.items():
            if not spec.may_vary or only not in effect.name:
                continue
            low, high = spec.kind.low, min(spec.kind.high, spec.kind.low + 2)
            low, high = low + 0.2 * (high - low), low + 0.7 * (high - low)
            plans = [plan_of(effect, **{name: v}) for v in (low, high)]
            plans.append(plan_of(effect, **{name: Ramp((0.0, seconds), (low, high))}))
            # Each round by itself: the median of short races stands on a busy machine too.
            rounds = [race(*(partial(to_codes, p) for p in plans), rounds=1) for _ in range(15)]
            ratio = float(np.median([ramped / max(one, two) for one, two, ramped in rounds[1:]]))
            print(f"  {effect.name} {name}: {ratio:.2f} ×{'' if ratio <= 1.3 else '  over 1.3'}")


def race(*calls, rounds: int = 5, clock=time.process_time) -> list[float]:
    """Return each call's best time; they take turns, so that a busy machine slows all alike.

    Time on the processor, so that others' turns on it are not counted.
    """
    found = [np.inf] * len(calls)
    for _ in range(rounds):
        for i, call in enumerate(calls):
            start = clock()
            call()
            found[i] = min(found[i], clock() - start)
    return found


def into(path: str, light: np.ndarray, first: int) -> int:
    """Write a block's codes to its place in one file: they need not travel between processes."""
    codes = to_bytes(light)
    with Path(path).open("r+b", buffering=0) as file:
        os.pwrite(file.fileno(), codes, first * codes[0].nbytes)
    return len(codes)


def whole(plan: Plan, path: str) -> int:
    done = 0
    for light in render(plan):
        done += into(path, light, done)
    return done


def to_codes(plan: Plan) -> None:
    for light in render(plan):
        to_bytes(light)


def pattern(layer: Layer) -> tuple[np.ndarray, float, float]:
    """Return the chase's own table and its repeats: the rivals get the same pattern."""
    import lumenmap_effects.travel.chase as chase

    options = layer.options
    table = chase._pattern(layer.palette, options["lit"], options["taper"], False).table
    repeat = options["spacing"] * len(layer.palette.stops)
    return table, 1 / repeat, options["speed"] / repeat


def fused(plan: Plan):
    """Compile the same show as one loop: look up twice, screen, quantise, count the current."""
    import numba

    at = plan.tiles[0].cues[0].layers[0].at
    (a, ka, va), (b, kb, vb) = (pattern(p.layer) for p in plan.tiles[0].cues[0].layers)

    @numba.njit(fastmath=True)
    def kernel(along, frames, a, ka, va, b, kb, vb, out, drawn):
        for f in range(frames):
            t = f / FPS
            total = 0
            for n in range(len(along)):
                u = along[n] * ka - va * t
                i = int((u - np.floor(u)) * len(a)) & (len(a) - 1)
                w = along[n] * kb - vb * t
                j = int((w - np.floor(w)) * len(b)) & (len(b) - 1)
                for c in range(3):
                    light = 1 - (1 - a[i, c]) * (1 - b[j, c])
                    code = np.uint8(light * np.float32(255) + np.float32(0.5))
                    out[f & 7, n, c] = code
                    total += code
            drawn[f] = total

    drawn = np.empty(plan.show.frames)
    out = np.empty((8, plan.pixels, 3), np.uint8)
    call = partial(kernel, at.along_line, plan.show.frames, a, ka, va, b, kb, vb, out, drawn)
    call()
    return call


def loop(plan: Plan, frames: int) -> None:
    """The same show, a pixel at a time in Python."""
    at = plan.tiles[0].cues[0].layers[0].at
    (a, ka, va), (b, kb, vb) = (pattern(p.layer) for p in plan.tiles[0].cues[0].layers)
    a, b, along = a.tolist(), b.tolist(), at.along_line.tolist()
    for f in range(frames):
        t = f / FPS
        out = bytearray()
        for d in along:
            x = a[int((d * ka - va * t) % 1.0 * len(a)) & (len(a) - 1)]
            y = b[int((d * kb - vb * t) % 1.0 * len(b)) & (len(b) - 1)]
            for c in range(3):
                out.append(int((1 - (1 - x[c]) * (1 - y[c])) * 255 + 0.5))


def alone(plan: Plan) -> None:
    for _ in render(plan):
        pass


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--frames", type=int, default=640)
    parser.add_argument("--each", action="store_true", help="each option of each effect, ramped")
    arguments = parser.parse_args()
    frames = arguments.frames
    plan = show_of(1000, frames)
    work = 1000 * frames / 1e6
    try:
        ours, theirs = race(lambda: to_codes(plan), fused(plan), rounds=60)
        print(f"fused numba kernel, one thread:          {work / theirs:6.1f} M pixel-frames/s")
        print(
            f"two-layer chase, 1,000 pixels, to codes: {work / ours:6.1f}   "
            f"{theirs / ours:.2f} × that (wanted: 0.5)"
        )
    except ImportError:
        print("numba is not installed: no fused kernel to compare with")
    ours, slow = race(lambda: to_codes(plan), lambda: loop(plan, 20), rounds=10)
    slow *= frames / 20
    print(
        f"per-pixel Python loop:                   {work / slow:6.2f}   "
        f"ours is {slow / ours:.0f} × it (wanted: 40)"
    )
    seconds = frames / FPS
    changing = Ramp((0.0, seconds), (0.3, 2.0))
    ramps = {
        "speed": show_of(1000, frames, speed=changing),
        "spacing": show_of(1000, frames, spacing=changing),
        "opacity": show_of(1000, frames, Ramp((0.0, seconds), (0.2, 1.0))),
    }
    plain, *times = race(*(partial(to_codes, p) for p in (plan, *ramps.values())), rounds=30)
    for name, took in zip(ramps, times, strict=True):
        print(f"with a ramp for {name}: {took / plain:.2f} × the plain number (wanted: 1.3)")
    if arguments.each:
        each_option(frames)
    longer = show_of(1000, 50 * frames)
    with tempfile.NamedTemporaryFile() as file, ProcessPoolExecutor(2) as pool:
        then = partial(into, file.name)
        list(render_on(pool, plan, then))
        one, two = race(
            lambda: whole(longer, file.name),
            lambda: sum(render_on(pool, longer, then, workers=2)),
            clock=time.perf_counter,
        )
    print(
        f"two processes into one file: {one / two:.2f} × one (wanted: 1.7; {os.cpu_count()} cores)"
    )
    for count in (1_000, 10_000, 100_000):
        wide = show_of(count, max(40, frames * 2000 // count))
        (took,) = race(lambda wide=wide: to_codes(wide))
        print(
            f"{count:7,} pixels: {count * wide.show.frames / took / 1e6:6.1f} M pixel-frames/s, "
            f"{took / wide.show.frames * 1e3:.3f} ms a frame"
        )
    for length in (40, 400):
        tracemalloc.start()
        to_codes(show_of(10_000, length))
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        print(
            f"memory, 10,000 pixels, {length} frames in blocks of {default_block(10_000)}: "
            f"peak {peak / 1e6:.1f} MB"
        )


if __name__ == "__main__":
    main()
