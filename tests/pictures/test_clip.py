"""Clips of every kind, seen by other programs."""

import json
import shutil
import subprocess
from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from lumenmap.core.errors import InputError
from lumenmap.pictures.clip import Clip, write_clip
from lumenmap.pictures.options import PreviewOptions
from lumenmap.pictures.scene.look import Look
from lumenmap.site import Site

SMALL = PreviewOptions(width=160, cache=False, look=Look("night", trees=False))


@pytest.fixture(scope="module")
def clip(house, pixelmap):
    phase = pixelmap.along_line[None, :] / 4 - np.arange(24)[:, None] / 12
    light = (0.5 + 0.5 * np.cos(2 * np.pi * (phase[..., None] + [0, 0.3, 0.6]))).astype(np.float32)
    return Clip(Site(house, pixelmap), "Ripple on Cabin", 24.0, len(light), lambda i, j: light[i:j])


def probe(path):
    """What ffprobe says of a file's picture stream."""
    if not shutil.which("ffprobe"):
        pytest.skip("ffprobe is not installed")
    asked = ["ffprobe", "-v", "error", "-count_frames", "-show_streams", "-of", "json", path]
    return json.loads(subprocess.run(asked, capture_output=True, check=True).stdout)["streams"][0]


def test_gif_by_ffprobe_and_gifsicle(clip, tmp_path):
    write_clip(tmp_path / "a.gif", replace(clip, fps=30.0), SMALL)
    seen = probe(tmp_path / "a.gif")
    assert (seen["width"], seen["height"], int(seen["nb_read_frames"])) == (160, 90, 24)
    assert float(seen["duration"]) == pytest.approx(24 / 30, abs=0.01)
    if shutil.which("gifsicle"):
        told = subprocess.run(
            ["gifsicle", "--info", tmp_path / "a.gif"], capture_output=True, text=True, check=True
        )
        assert "24 images" in told.stdout
        assert "loop forever" in told.stdout
        waits = [
            float(w.split("delay ")[1].split("s")[0])
            for w in told.stdout.splitlines()
            if "delay" in w
        ]
        assert set(waits) == {0.03, 0.04}
        assert not told.stderr


@pytest.mark.parametrize("loop", [1, 3])
def test_gif_plays_as_often_as_asked(clip, tmp_path, loop):
    write_clip(tmp_path / "a.gif", clip, replace(SMALL, loop=loop))
    with Image.open(tmp_path / "a.gif") as seen:
        # The extension counts repeats after the first time.
        assert seen.info.get("loop", 0) == loop - 1


@pytest.mark.parametrize("ending", [".webp", ".apng"])
def test_webp_and_apng_by_pillow(clip, tmp_path, ending):
    path = tmp_path / f"a{ending}"
    write_clip(path, clip, SMALL)
    with Image.open(path) as seen:
        assert seen.size == (160, 90)
        assert seen.n_frames == 24
        total = 0.0
        for n in range(24):
            seen.seek(n)
            seen.load()
            total += seen.info["duration"]
    assert total == pytest.approx(1000, abs=2)


def test_apng_is_exact(clip, tmp_path, house, pixelmap):
    from lumenmap.pictures.encode.apng import write_apng

    frames = np.random.default_rng(0).integers(0, 255, (5, 20, 30, 3), np.uint8)
    frames[2:4, 3:9, 4:8] = 7
    frames[3] = frames[2]
    assert write_apng(tmp_path / "a.apng", iter(frames), 29.97) == 5
    with Image.open(tmp_path / "a.apng") as seen:
        for n, frame in enumerate(frames):
            seen.seek(n)
            assert (np.asarray(seen.convert("RGB")) == frame).all()


@pytest.mark.parametrize(("ending", "codec"), [(".mp4", "h264"), (".webm", "vp9")])
def test_video_by_ffprobe(clip, tmp_path, ending, codec):
    pytest.importorskip("imageio_ffmpeg")
    path = tmp_path / f"a{ending}"
    write_clip(path, clip, replace(SMALL, width=161, height=91))  # odd sizes lose a row and column
    seen = probe(path)
    assert (seen["codec_name"], seen["width"], seen["height"]) == (codec, 160, 90)
    assert int(seen["nb_read_frames"]) == 24
    assert seen["pix_fmt"] == "yuv420p"


def test_still_and_sheet(clip, tmp_path):
    write_clip(tmp_path / "a.png", clip, replace(SMALL, at=0.5))
    with Image.open(tmp_path / "a.png") as seen:
        assert seen.size == (160, 90)
        assert seen.text["Title"] == "Ripple on Cabin"


@pytest.mark.parametrize(("count", "across", "down"), [(2, 2, 1), (6, 3, 2), (9, 3, 3), (7, 4, 2)])
def test_a_sheet_has_few_empty_places(clip, tmp_path, count, across, down):
    write_clip(tmp_path / "b.png", clip, replace(SMALL, sheet=count))
    with Image.open(tmp_path / "b.png") as seen:
        assert seen.width // 160 == across
        assert seen.height // 90 in (down, down + 1)  # words take some room


def test_a_size_limit_is_kept(clip, tmp_path):
    free = write_clip(tmp_path / "a.gif", clip, replace(SMALL, width=480))
    size = (tmp_path / "a.gif").stat().st_size / 1e6
    held = write_clip(tmp_path / "b.gif", clip, replace(SMALL, width=480, max_mb=size / 2))
    assert (tmp_path / "b.gif").stat().st_size <= size / 2 * 1e6
    assert held.width < free.width


def test_a_limit_that_cannot_be_kept_writes_nothing(clip, tmp_path):
    with pytest.raises(InputError, match=r"MB even \d+ wide; over the 0.01 MB asked for"):
        write_clip(tmp_path / "a.gif", clip, replace(SMALL, max_mb=0.01))
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("name", "options", "message"),
    [
        ("a.gfi", {}, 'no picture is called ".gfi"; did you mean ".gif"'),
        ("a", {}, 'no picture is called ""'),
        ("no/a.gif", {}, "can't be written: No such file"),
        ("no/a.mp4", {}, "can't be written: No such file"),
        ("a.gif", {"width": 0}, "a picture of 0 × 0; wanted 16 to"),
        ("a.gif", {"width": 100_000}, "a picture of 100000 × 56250; wanted 16 to"),
        ("a.png", {"at": 99.0}, "99 s is outside the show, which lasts 1 s"),
        ("a.png", {"at": -1.0}, "-1 s is outside the show"),
        ("a.png", {"sheet": 1000}, "a sheet of 1000; wanted 2 to 60"),
        ("a.gif", {"max_mb": -1.0}, "at most -1 MB; wanted 0.01 or more"),
        ("a.gif", {"view": "steet"}, 'no view "steet"; did you mean "street"'),
    ],
)
def test_bad_wishes_are_one_sentence_and_leave_nothing(clip, tmp_path, name, options, message):
    with pytest.raises(InputError, match=message):
        write_clip(tmp_path / name, clip, replace(SMALL, **options))
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("ending", [".gif", ".webp", ".apng", ".mp4", ".png"])
def test_no_frames_write_nothing(clip, tmp_path, ending):
    with pytest.raises(InputError, match="there are no frames to write"):
        write_clip(tmp_path / f"a{ending}", replace(clip, count=0), SMALL)
    assert not list(tmp_path.iterdir())


def test_an_hour_without_a_sky_is_refused():
    with pytest.raises(InputError, match='no time "dawn"; Times: day, dusk, night'):
        Look("dawn")
