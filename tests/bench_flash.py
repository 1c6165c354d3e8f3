"""Flash images of six shows beside zlib, LZ4 and LZSS: ``python -m tests.bench_flash [FOLDER…]``.

The others pack the raw frames: LZSS with a window of 1 KB (heatshrink, the better of lookahead 4
and 5), LZ4 frame by frame of one block each second, zlib -9 with its 32 KB window. Folders of
exports may be named; without, six seeded shows of very different kinds are made.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
import time
import zlib
from pathlib import Path

import heatshrink2
import lz4.block
import numpy as np

import lumenmap.controller
from lumenmap.controller.files.frameset import FrameLine, FrameSet, open_frames
from lumenmap.controller.flash.image import flash_image

C = Path(lumenmap.controller.__file__).parent / "c"


def shows(pixels: int = 500, fps: float = 40.0, seconds: int = 20) -> dict[str, FrameSet]:
    """Make six shows, linear 8-bit codes."""
    rng = np.random.default_rng(1)
    t = (np.arange(int(fps * seconds)) / fps)[:, None, None]
    x = np.arange(pixels)[None, :, None]
    red, gold = np.array([1, 0.08, 0.02]), np.array([1, 0.55, 0.12])
    glint = np.zeros((t.shape[0], pixels, 1))
    level = np.zeros((pixels, 1))
    for i in range(len(glint)):
        level = level * np.exp(-1 / fps / 0.35)
        level[level < 0.01] = 0
        level[rng.random(pixels) < 0.05 / fps] = 1
        glint[i] = level
    wave = (0.5 + 0.5 * np.sin(x / 40 - 1.3 * t + np.array([0, 2.1, 4.2]))) ** 2.2
    noise = rng.random((t.shape[0], pixels, 1))
    for _ in range(3):  # blurred in place and time
        noise = (noise + np.roll(noise, 1, 0) + np.roll(noise, 2, 0) + np.roll(noise, 3, 0)) / 4
        noise = (noise + np.roll(noise, 1, 1) + np.roll(noise, 2, 1)) / 3
    flame = (noise - noise.min()) / (noise.max() - noise.min())
    light = {
        "chase": sum(
            np.exp(-((t * v + k * 125 - x) % pixels) / 25) * c
            for k, (v, c) in enumerate(
                [(31.7, red), (45.2, gold), (58.8, red[::-1]), (73.9, gold[::-1])]
            )
        ),
        "steps": np.where((x + np.floor(10 * t)) % 6 < 3, red, gold),
        "wave": wave,
        "dithered wave": np.floor(wave * 255 + rng.random(wave.shape)) / 255,
        "glints": 0.02 * gold + glint * np.array([1, 0.9, 0.7]),
        "flame": flame**2 * gold,
    }
    line = (FrameLine("all", 0, pixels, 1, "RGB"),)
    return {
        name: FrameSet(np.floor(np.clip(v, 0, 1) * 255 + 0.5).astype(np.uint8), fps, line)
        for name, v in light.items()
    }


def lzss(data: bytes) -> int:
    """Return the size under LZSS with a window of 1 KB."""
    return min(len(heatshrink2.compress(data, window_sz2=10, lookahead_sz2=n)) for n in (4, 5))


def decoder_memory(image: bytes, codes: np.ndarray) -> tuple[int, float]:  # type: ignore[type-arg]
    """Decode with the C decoder; return its memory (octets) and its time a frame (µs)."""
    with tempfile.TemporaryDirectory() as folder:
        tool, file = Path(folder) / "tool", Path(folder) / "image"
        cc = shutil.which("cc") or "gcc"
        source = Path(__file__).parent / "controller" / "flash_tool.c"
        subprocess.run(
            [cc, "-std=c99", "-O2", f"-I{C}", "-o", tool, source, *sorted(C.glob("*.c"))],
            check=True,
        )
        file.write_bytes(image)
        begun = time.perf_counter()
        got = subprocess.run([tool, "decode", file], capture_output=True, check=True).stdout
        took = time.perf_counter() - begun
        assert got == codes.tobytes(), "the decoder gives the very bytes"
        info = subprocess.run([tool, "info", file], capture_output=True, check=True).stdout
        return int(info.split()[6]), 1e6 * took / len(codes)


def main() -> None:
    """Print the table."""
    named = {Path(f).name: open_frames(f) for f in sys.argv[1:]}
    print(
        f"{'bytes a second of show':22} {'raw':>7} {'ours':>7} {'LZSS 1K':>8} {'LZ4':>7} "
        f"{'zlib':>7} {'ours/LZSS':>9}  {'C RAM':>6} {'C µs/frame':>10} {'packing':>8}"
    )
    for name, frames in (named or shows()).items():
        raw = frames.codes.tobytes()
        begun = time.perf_counter()
        image = flash_image(frames)
        took = time.perf_counter() - begun
        memory, micros = decoder_memory(image, frames.codes)
        second = int(frames.fps) * frames.codes[0].size
        blocks = sum(
            len(lz4.block.compress(raw[i : i + second], mode="high_compression"))
            for i in range(0, len(raw), second)
        )
        sizes = [len(raw), len(image), lzss(raw), blocks, len(zlib.compress(raw, 9))]
        a = [round(s / frames.seconds) for s in sizes]
        print(
            f"{name:22} {a[0]:7d} {a[1]:7d} {a[2]:8d} {a[3]:7d} {a[4]:7d} "
            f"{sizes[1] / sizes[2]:9.3f}  {memory:6d} {micros:10.1f} {took:6.1f} s"
        )


if __name__ == "__main__":
    main()
