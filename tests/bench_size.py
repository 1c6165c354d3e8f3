"""Memory and time of ``check`` by the number of pixels: ``python -m tests.bench_size``.

Each size runs in a process of its own, which has checked a small house before, so that the time is
of the work alone; it is the processor's, so other programs count little. The growth from one size
to the next is printed beside the growth in pixels. The houses are invented.
"""

from __future__ import annotations

import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path

SIZES = (1_000, 10_000, 100_000)
PER_LINE = 500
HEAD = """
[house]
name = "Long Row"
unit = "m"
[rail]
length = 3.0
hole_spacing = 0.1
[pixel]
kind = "ws2811-12v"
[[supply]]
name = "shed"
volts = 12
amps = {amps}
"""
LINE = """
[[edge]]
name = "e{i}"
points = [[0, 0, {z}], [{end}, 0, {z}]]
[[line]]
name = "l{i}"
path = ["e{i}"]
[[feed]]
supply = "shed"
to = "l{i}"
at = "start"
wire = "14 AWG"
length = "3 m"
fuse = 5
[[feed]]
supply = "shed"
to = "l{i}"
at = "end"
wire = "14 AWG"
length = "40 m"
fuse = 5
"""
SHOW = """
[show]
house = "house.toml"
fps = 20
length = "2 s"
[[cue]]
[[cue.layer]]
effect = "chase"
palette = "frost"
"""


def write(folder: Path, pixels: int) -> None:
    """Write a house of so many pixels, and a show for it."""
    lines = [LINE.format(i=i, z=0.2 * i + 1, end=PER_LINE * 0.1) for i in range(pixels // PER_LINE)]
    text = HEAD.format(amps=min(1000, pixels * 0.04)) + "".join(lines)
    (folder / "house.toml").write_text(text, "utf-8")
    (folder / "show.toml").write_text(SHOW, "utf-8")


def measure(pixels: int) -> None:
    """Check a show on a house of so many pixels; print MB and s."""
    checked(PER_LINE)
    seconds = min(checked(pixels) for _ in range(3))
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{peak:.1f} {seconds:.3f}")


def checked(pixels: int) -> float:
    """Check a show on a house of so many pixels; return s of the processor's time."""
    import lumenmap

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        write(folder, pixels)
        began = time.process_time()
        report = lumenmap.check(lumenmap.load(folder / "show.toml"))
        assert report["pixels"] == pixels
        return time.process_time() - began


def main() -> None:
    """Print a row a size."""
    before: tuple[int, float, float] | None = None
    print("pixels      MB       s   growth: pixels   MB    s")
    for pixels in SIZES:
        words = [sys.executable, "-m", "tests.bench_size", str(pixels)]
        done = subprocess.run(words, capture_output=True, text=True, check=True)
        megabytes, seconds = map(float, done.stdout.split())
        row = f"{pixels:7,} {megabytes:7.0f} {seconds:7.2f}"
        if before:
            ratios = (pixels / before[0], megabytes / before[1], seconds / before[2])
            row += "          {:6.1f} {:5.1f} {:5.1f}".format(*ratios)
        print(row, flush=True)
        before = pixels, megabytes, seconds


if __name__ == "__main__":
    measure(int(sys.argv[1])) if len(sys.argv) > 1 else main()
