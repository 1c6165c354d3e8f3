"""How fast a show is certified and a network solved: ``python -m tests.bench_power``.

An hour of 500 pixels at 30 frames/s is certified from its bytes; and the network of the same house
is solved for many frames together, next to a general sparse solver (scipy) that solves each frame.
Prints ratios from one run, and the memory that the account took.
"""

from __future__ import annotations

import resource
import tempfile
import time
from pathlib import Path

import numpy as np

from lumenmap.codes.flashing import FlashCounter
from lumenmap.controller.files.frames import FrameWriter, sidecar
from lumenmap.house.reading.load import load_house
from lumenmap.pixels.build import map_pixels
from lumenmap.power.account.recheck import recheck
from lumenmap.power.circuit.assembly import build_wiring
from lumenmap.power.circuit.undervoltage import solve_steady_state

FPS, SECONDS = 30, 3600
HOUSE = """
house = { name = "Bench", unit = "m" }
rail = { hole_spacing = "60 mm" }
pixel = { kind = "ws2811-12v" }
edge = [
  { name = "long", points = [[0, 0, 3], [18, 0, 3]] },
  { name = "short", points = [[0, 6, 3], [12, 6, 3]] },
]
line = [{ name = "long", path = ["long"] }, { name = "short", path = ["short"], universe = 9 }]
supply = [{ name = "one", volts = 12, amps = 29 }]
feed = [
  { supply = "one", to = "long", at = "start", wire = "12 AWG", length = 3, fuse = 20 },
  { supply = "one", to = "long", at = "end", wire = "12 AWG", length = 9, fuse = 20 },
  { supply = "one", to = "short", at = "middle", wire = "12 AWG", length = 8, fuse = 20 },
]
wiring = { string = "16 AWG" }
"""


def megabytes() -> float:
    """The most memory this process has held, MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def account(folder: Path) -> None:
    house = load_house(folder / "house.toml")
    pixelmap = map_pixels(house)
    rng = np.random.default_rng(0)
    writer = FrameWriter(folder / "frames.rgb", pixelmap)
    minute = rng.integers(0, 90, (60 * FPS, len(pixelmap), 3), np.uint8)
    for k in range(SECONDS // 60):
        writer.write(np.roll(minute, k, axis=1))
    writer.close()
    (folder / "frames.json").write_text(sidecar(writer, pixelmap, FPS, {"house": "house.toml"}))
    before, start = megabytes(), time.perf_counter()
    found = recheck(folder / "frames.json", folder / "house.toml", flashes=False)
    took = time.perf_counter() - start
    assert found.good, found.problems[:2]
    print(f"account of {SECONDS} s, {len(pixelmap)} pixels, {FPS} frames/s, from its bytes:")
    print(f"  {took:.2f} s, {SECONDS / took:,.0f} x faster than it plays (target 200)")
    print(f"  most memory {megabytes():.0f} MB, {before:.0f} MB of it before (target under 400)")
    start = time.perf_counter()
    recheck(folder / "frames.json", folder / "house.toml")
    print(f"  with its flashes counted again: {SECONDS / (time.perf_counter() - start):,.0f} x")
    regions = {s.name: np.arange(s.first, s.first + s.count) for s in pixelmap.lines}
    watch = FlashCounter(FPS, {**regions, "house": np.arange(len(pixelmap))})
    light = minute[:300].astype(np.float32) / 255
    start = time.perf_counter()
    for i in range(0, 300, 16):
        watch.add(light[i : i + 16])
    print(f"  flash count: {10 / (time.perf_counter() - start):,.0f} x faster than it plays")


def network(folder: Path) -> None:
    from scipy.sparse import coo_matrix
    from scipy.sparse.linalg import spsolve

    house = load_house(folder / "house.toml")
    pixelmap = map_pixels(house)
    wiring = build_wiring(house, pixelmap)
    net = wiring.network
    rng = np.random.default_rng(1)
    frames = 2048
    codes = rng.integers(0, 60, (frames, len(pixelmap), 3), np.uint8)
    amps = codes @ np.full(3, 18.5 / 255000) + 0.0007
    net.load_volts(amps[:1])  # a house's network is taken apart once; then its frames stream by
    start = time.perf_counter()
    state = solve_steady_state(net, codes[:512], pixelmap.kind)
    steady = (time.perf_counter() - start) / 512
    # The same matrix for the general solver, without the pinned node.
    free = np.array([k for k in range(net.nodes) if k not in net.pinned])
    a, b = net.ends.T
    rows = np.concatenate([a, b, a, b])
    columns = np.concatenate([a, b, b, a])
    values = np.concatenate([net.siemens, net.siemens, -net.siemens, -net.siemens])
    matrix = coo_matrix((values, (rows, columns)), shape=(net.nodes, net.nodes)).tocsr()
    matrix = matrix[free][:, free].tocsc()
    few = 20
    lift = net.siemens * net.offset_volts
    push = np.bincount(net.ends.T.ravel(), np.concatenate([-lift, lift]), net.nodes)
    inflow = (push + net.inflow(amps[:few]))[:, free]
    ours = general = np.inf
    for _ in range(7):  # in turn, so that both meet the same company on the machine
        start = time.perf_counter()
        across = net.load_volts(amps)
        ours = min(ours, (time.perf_counter() - start) / frames)
        start = time.perf_counter()
        there = np.array([spsolve(matrix, inflow[k]) for k in range(few)])
        general = min(general, (time.perf_counter() - start) / few)
    full = np.zeros((few, net.nodes))
    full[:, free] = there
    worst = np.abs(net.at_loads(full) - across[:few]).max()
    print(f"network of {net.nodes} nodes: {ours * 1e6:.0f} us a frame, a general sparse solve")
    print(
        f"  {general * 1e6:.0f} us: {general / ours:.0f} x (target 10); they differ by {worst:.0e} V"
    )
    short = int((state.channel_fraction < 1).any(axis=(1, 2)).sum())
    print(
        f"  steady state, checked for undervoltage (in {short} of 512 frames): {steady * 1e6:.0f} us"
    )
    bright = np.full((64, len(pixelmap), 3), 255, np.uint8)
    start = time.perf_counter()
    solve_steady_state(net, bright, pixelmap.kind)
    took = (time.perf_counter() - start) / 64
    print(f"  undervoltage everywhere, Newton's method: {took * 1e6:.0f} us a frame")


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "house.toml").write_text(HOUSE)
        account(folder)
        network(folder)


if __name__ == "__main__":
    main()
