"""How long mapping takes by the number of pixels: ``python -m tests.bench_map``.

A house of eaves on several lines; read from a file, laid out, walked, chosen from. Each figure is
the best of several runs in this process. Nothing here is held by a test.
"""

from __future__ import annotations

import tempfile
import time
from pathlib import Path

import numpy as np

SIZES = (1_000, 10_000, 100_000)
LINES = 8


def house(pixels: int) -> str:
    """Return a house file with about that many pixels: 5 mm apart on straight edges."""
    each = pixels // LINES
    long = each * 0.005
    edges = "".join(
        f'[[edge]]\nname = "e{i}"\npoints = [[0, {i}, 3], [{long:.3f}, {i}, 3]]\n'
        for i in range(LINES)
    )
    lines = "".join(f'[[line]]\nname = "l{i}"\npath = ["e{i}"]\n' for i in range(LINES))
    return (
        '[house]\nname = "Bench"\nunit = "m"\n[rail]\nhole_spacing = "5 mm"\n'
        f'[pixel]\nkind = "ws2812b"\n{edges}{lines}[[supply]]\nname = "s"\nvolts = 5\namps = 60\n'
        "[group.low]\nhigh = [10, 10, 10]\n"
    )


def best(runs: int, work, *given) -> float:
    """Return the shortest time of several runs, s."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work(*given)
        times.append(time.perf_counter() - start)
    return min(times)


def main() -> None:
    """Print seconds and their ratio to the smallest size's."""
    from lumenmap.house.reading.load import load_house
    from lumenmap.pixels.build import layout_lines, map_pixels
    from lumenmap.pixels.select import select
    from lumenmap.sheets.rails.rails import rails

    print(f"{'pixels':>9} {'read':>9} {'map':>9} {'select':>9} {'rails':>9}  ns a pixel to map")
    for size in SIZES:
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / "house.toml"
            file.write_text(house(size))
            read = best(5, load_house, file)
            made = load_house(file)
        mapped = best(5, map_pixels, made)
        pixels = map_pixels(made)
        chosen = best(5, select, pixels, made, ["e1", "low", "e*"])
        cut = best(2, lambda house: rails(layout_lines(house)), made)
        assert np.isfinite(pixels.xyz).all()
        print(
            f"{len(pixels):>9,} {read:>8.4f}s {mapped:>8.4f}s {chosen:>8.5f}s {cut:>8.3f}s"
            f"  {mapped / len(pixels) * 1e9:>10.0f}"
        )


if __name__ == "__main__":
    main()
