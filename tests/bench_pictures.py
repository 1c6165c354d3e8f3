"""Pictures against ffmpeg: the same frames, the same run; prints ratios.

Run with ``python -m tests.bench_pictures``. Needs ffmpeg on the path.
"""

from __future__ import annotations

import argparse
import subprocess
import tempfile
import time
from pathlib import Path

import numpy as np

from lumenmap.colour.oklab import from_linear
from lumenmap.colour.transfer import to_linear
from lumenmap.house.reading.load import load_house
from lumenmap.pictures.drawn.preview import Preview
from lumenmap.pictures.encode.gif import Drawn, write_gif
from lumenmap.pixels.build import map_pixels
from lumenmap.site import Site

EXAMPLES = Path(__file__).resolve().parents[1] / "examples"
FPS = 20


def chase(x, t):
    """Three colours that run along the wire."""
    phase = x[None, :] / 3 - 0.5 * t[:, None]
    return np.stack([np.cos(2 * np.pi * (phase + k / 3)) for k in range(3)], -1).clip(0, 1)


def drift(x, t):
    """Two soft colours that drift slowly."""
    mix = 0.5 + 0.5 * np.sin(x[None, :] / 4 + 0.8 * t[:, None])
    a, b = np.array([0.9, 0.35, 0.06]), np.array([0.05, 0.15, 0.8])
    return mix[..., None] * a + (1 - mix[..., None]) * b


def glints(x, t):
    """Short white glints on a dim ground."""
    born = np.random.default_rng(5).random(len(x)) * 7
    age = (t[:, None] * 1.3 + born) % 7
    return np.exp(-3 * age)[..., None] * np.array([1, 0.9, 0.75]) + np.array([0.02, 0.03, 0.08])


CLIPS = {"chase": chase, "drift": drift, "glints": glints}


def ffmpeg(raw, size, fps, out, use):
    """Write a GIF by palettegen and paletteuse; return the seconds it took."""
    read = ["-f", "rawvideo", "-pix_fmt", "rgb24", "-s", f"{size[0]}x{size[1]}", "-r", str(fps)]
    graph = f"split[a][b];[a]palettegen[p];[b][p]paletteuse{use}"
    begin = time.perf_counter()
    subprocess.run(
        ["ffmpeg", "-v", "error", "-y", *read, "-i", raw, "-vf", graph, "-loop", "0", out],
        check=True,
    )
    return time.perf_counter() - begin


def decoded(path, shape):
    """Decode a GIF to (T, H, W, 3) by ffmpeg, whoever wrote it."""
    got = subprocess.run(
        [
            "ffmpeg",
            "-v",
            "error",
            "-i",
            path,
            "-fps_mode",
            "cfr",
            "-r",
            str(FPS),
            "-f",
            "rawvideo",
            "-pix_fmt",
            "rgb24",
            "-",
        ],
        check=True,
        capture_output=True,
    )
    return np.frombuffer(got.stdout, np.uint8)[: np.prod(shape)].reshape(shape)


def error(frames, path):
    """Return the mean OKLab distance of every seventh frame's elements."""
    seen = decoded(path, frames.shape)
    lab = [from_linear(to_linear(f[::7] / 255)) for f in (frames, seen)]
    return float(np.linalg.norm(lab[0] - lab[1], axis=-1).mean())


def main():
    """Print a table of ratios."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seconds", type=float, default=8)
    asked.add_argument("--width", type=int, default=640)
    asked.add_argument("--house", default="alder-cottage")
    told = asked.parse_args()
    house = load_house(EXAMPLES / told.house / "house.toml")
    pixelmap = map_pixels(house)
    view = Preview(Site(house, pixelmap), width=told.width, height=told.width * 9 // 16)
    t = np.arange(0, told.seconds, 1 / FPS)
    uses = {"default": "", "bayer": "=dither=bayer", "none": "=dither=none"}
    with tempfile.TemporaryDirectory() as folder:
        for name, made in CLIPS.items():
            light = made(pixelmap.along_line, t).astype(np.float32)

            frames = view.frames(light)
            raw, ours = Path(folder, "raw"), Path(folder, "ours.gif")
            raw.write_bytes(frames.tobytes())
            begin = time.perf_counter()
            drawn = Drawn(lambda i, j, all_=frames: all_[i:j], len(frames), FPS)
            write_gif(ours, drawn, palette_from=frames[::9])
            rows = {"ours": (time.perf_counter() - begin, ours.stat().st_size, error(frames, ours))}
            for word, use in uses.items():
                path = Path(folder, f"{word}.gif")
                spent = ffmpeg(raw, (view.width, view.height), FPS, path, use)
                rows[f"ffmpeg {word}"] = (spent, path.stat().st_size, error(frames, path))
            for row, (spent, size, off) in rows.items():
                print(f"{name:7s} {row:15s} {spent:6.2f} s  {size / 1e6:6.2f} MB  {off:.5f} OKLab")
            best = [min(r[k] for w, r in rows.items() if w != "ours") for k in range(3)]
            words = zip(("time", "bytes", "error"), rows["ours"], best, strict=True)
            print(name, "  ".join(f"{w} {a / b:.2f} x" for w, a, b in words))


if __name__ == "__main__":
    main()
