"""Sounds, photographs, films, palettes and marks for `tests.cli.fuzz_cases`; all are invented."""

from __future__ import annotations

import functools
import io
from pathlib import Path

import numpy as np

#: A wall whose pixels' numbers fit into a short film.
WALL = """
house = { name = "Wall", unit = "m" }
rail = { hole_spacing = "100 mm" }
pixel = { kind = "ws2811-12v" }
mass = [{ name = "main", roof = "gable", width = 3, depth = 3, eave = 3, slope = "8/12" }]
line = [{ name = "all", path = ["main/rake-left", "main/rake-right"] }]
supply = [{ name = "one", volts = 12, amps = 10 }]
feed = [{ supply = "one", to = "all", fuse = 5 }]
"""
#: A show to a sound, with a palette of its own file.
SUNG = """
[show]
house = "house.toml"
fps = 4
length = "2 s"
sound = "song.wav"
[[cue]]
length = "4 beats"
[[cue.layer]]
effect = "chase"
palette = "mine"
speed = { at = ["0 beats", "2 beats"], to = ["1 ft/s", "3 ft/s"] }
"""
PALETTE = """
stops = ["#0b8a2a", { colour = "oklch(0.6 0.1 240)", at = 0.5 }]
space = "oklch"
cyclic = true
"""
#: What reads them; a folder's name goes in for DIR.
COMMANDS: dict[str, tuple[int, tuple[str, ...]]] = {
    "song.wav": (30, ("beats DIR/song.wav --about 120 --again", "check DIR/sung.toml")),
    "song.beats.txt": (30, ("check DIR/sung.toml", "beats DIR/song.wav")),
    "mine.palette.toml": (30, ("check DIR/sung.toml",)),
    "wall/front.marks.toml": (
        60,
        ("marks DIR/wall/front.marks.toml", "marks DIR/wall/front.marks.toml -o DIR/got.png"),
    ),
    "wall/front.jpg": (30, ("marks DIR/wall/front.marks.toml -o DIR/got.png",)),
    "wall/film.mp4": (40, ("survey DIR/wall/house.toml --film DIR/wall/film.mp4",)),
}
#: Words for the options of what reads them.
OPTIONS = (
    "beats DIR/song.wav --about 120 --bar 4",
    "marks DIR/wall/house.toml -o DIR/got.png",
    "survey DIR/wall/house.toml --film DIR/wall/film.mp4 -o DIR/got.png",
    "preview DIR/wall/show.toml -o DIR/got.jpg --photo DIR/wall/front.marks.toml --exposure 1",
    "update DIR/show.toml --dry-run",
    "status DIR/almanac.toml --json",
)


def media() -> dict[str, list[bytes]]:
    """Return the files by name, each in every format that is read; the first is what lies there."""
    return {
        "song.wav": _songs(),
        "song.beats.txt": [_LABELS.encode()],
        "mine.palette.toml": [PALETTE.encode()],
        "wall/front.marks.toml": [_marks()],
        "wall/front.jpg": _photos(),
        "wall/film.mp4": [_film()],
    }


def lay(folder: Path) -> None:
    """Write the wall's house and show, and the show to a sound, which stay as they are."""
    (folder / "wall").mkdir(exist_ok=True)
    (folder / "wall/house.toml").write_text(WALL, "utf-8")
    (folder / "wall/show.toml").write_text(
        '[show]\nhouse = "house.toml"\nfps = 4\nlength = "1 s"\n[[cue]]\n[[cue.layer]]\n'
        'effect = "still"\n',
        "utf-8",
    )
    (folder / "sung.toml").write_text(SUNG, "utf-8")


_LABELS = "".join(f"{0.1 + i / 2:.3f}\t{0.1 + i / 2:.3f}\t{i % 4 + 1}\n" for i in range(8))


@functools.cache
def _songs() -> list[bytes]:
    """Clicks at 120 a minute, 4 s, in the formats that shows may name."""
    import soundfile

    time = np.arange(4 * 8000) / 8000
    sound = np.sin(2 * np.pi * 880 * time) * np.exp(-30 * ((time - 0.1) % 0.5))
    found = []
    for kind, subtype in (("WAV", "PCM_16"), ("FLAC", "PCM_16"), ("OGG", "VORBIS"), ("MP3", None)):
        out = io.BytesIO()
        soundfile.write(out, 0.5 * sound, 8000, format=kind, subtype=subtype)
        found.append(out.getvalue())
    return found


@functools.cache
def _seen() -> tuple[np.ndarray, dict[str, np.ndarray]]:
    """Where a camera 7 m before the wall sees its pixels and its named points, of 640 by 360."""
    import cv2

    from lumenmap.camera.marks.points import named_points
    from lumenmap.pictures.scene.rails import lamp_places
    from lumenmap.site import Site

    site = _site(Site)
    turn = np.array([[0.96, 0.28, 0], [0.0, 0, -1], [-0.28, 0.96, 0]])
    at = np.array([3.4, -7.0, 1.6])
    matrix = np.array([[460.0, 0, 320], [0, 460.0, 180], [0, 0, 1]])

    def project(points: np.ndarray) -> np.ndarray:
        return cv2.projectPoints(points, cv2.Rodrigues(turn)[0], -turn @ at, matrix, np.zeros(4))[
            0
        ][:, 0]

    named = named_points(site.house)
    places = project(np.array([p.xyz for p in named.values()]))
    return project(lamp_places(site)[0]), dict(zip(named, places, strict=True))


def _site(reader: type) -> object:
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "house.toml"
        file.write_text(WALL, "utf-8")
        return reader.read(file)


@functools.cache
def _marks() -> bytes:
    rows = [f'"{name}" = [{x:.1f}, {y:.1f}]' for name, (x, y) in _seen()[1].items()]
    trace = '[[trace]]\nname = "line"\non = "main/wall-front"\npoints = [[300, 140], [380, 144]]'
    return "\n".join(
        ["[photo]", 'file = "front.jpg"', "lens = 26", "[mark]", *rows, trace]
    ).encode()


@functools.cache
def _photos() -> list[bytes]:
    from PIL import Image

    picture = Image.linear_gradient("L").resize((640, 360)).convert("RGB")
    exif = picture.getexif()
    exif[0x8769] = {0xA405: 26}
    found = []
    for kind in ("JPEG", "PNG", "WEBP"):
        out = io.BytesIO()
        picture.save(out, kind, exif=exif)
        found.append(out.getvalue())
    return found


@functools.cache
def _film() -> bytes:
    """The wall's blinking, 20 frames a second, by a camera on a stand."""
    import av

    from lumenmap.camera.blinks.blinking import FPS
    from lumenmap.jobs.blinking import blinking_of
    from lumenmap.site import Site

    light = blinking_of(_site(Site)).light(0.3).mean(-1)
    x, y = np.round(_seen()[0]).astype(int).T
    out = io.BytesIO()
    bricks = np.random.default_rng(1).integers(15, 60, (18, 32))  # something to hold pictures by
    wall = np.repeat(np.kron(bricks, np.ones((20, 20), int))[:, :, None], 3, 2).astype(np.uint8)
    with av.open(out, "w", format="mp4") as box:
        stream = box.add_stream("libx264", rate=20, options={"crf": "20", "preset": "ultrafast"})
        stream.width, stream.height, stream.pix_fmt = 640, 360, "yuv420p"
        for i in range(int(len(light) / FPS * 20) + 30):
            frame = wall.copy()
            now = int((i - 20) / 20 * FPS)
            if 0 <= now < len(light):
                for dx, dy in ((0, 0), (1, 0), (0, 1), (1, 1)):
                    frame[y + dy, x + dx] = (200 * np.sqrt(light[now]))[:, None]
            for packet in stream.encode(av.VideoFrame.from_ndarray(frame)):
                box.mux(packet)
        for packet in stream.encode():
            box.mux(packet)
    return out.getvalue()
