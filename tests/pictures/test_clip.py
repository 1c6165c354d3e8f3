"""Clips of every kind, seen by other programs."""

import sys
from dataclasses import replace

import av
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
    """What libav says of a film: its picture stream, and when each frame is shown (s)."""
    with av.open(path) as film:
        stream = film.streams.video[0]
        shown = [float(frame.time) for frame in film.decode(stream)]
        context = stream.codec_context
        return context.name, (stream.width, stream.height), context.pix_fmt, shown


def test_gif_by_libav(clip, tmp_path):
    write_clip(tmp_path / "a.gif", replace(clip, fps=30.0), SMALL)
    codec, size, _, shown = probe(tmp_path / "a.gif")
    assert (codec, size, len(shown)) == ("gif", (160, 90), 24)
    waits = np.diff(shown)
    assert set(waits.round(4)) == {0.03, 0.04}
    assert shown[-1] == pytest.approx(23 / 30, abs=0.01)


@pytest.mark.parametrize("loop", [0, 1, 3])
def test_gif_plays_as_often_as_asked(clip, tmp_path, loop):
    write_clip(tmp_path / "a.gif", clip, replace(SMALL, loop=loop))
    with Image.open(tmp_path / "a.gif") as seen:
        # The extension counts repeats after the first time, 0 of them for ever; without it, once.
        assert seen.info.get("loop") == {0: 0, 1: None, 3: 2}[loop]


@pytest.mark.parametrize("name", ["a.jpg", "a.JPEG"])
def test_jpeg_is_the_png_nearly(clip, tmp_path, name):
    """Colours of single lamps included, which sampling at half size would mix."""
    for path in ("a.png", name):
        write_clip(tmp_path / path, clip, replace(SMALL, at=0.5))
    with Image.open(tmp_path / "a.png") as exact, Image.open(tmp_path / name) as seen:
        assert seen.format == "JPEG"
        off = np.abs(np.asarray(seen, float) - np.asarray(exact, float))
    assert off.mean() < 1.5
    assert off.max() < 45


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
def test_video_by_libav(clip, tmp_path, ending, codec):
    path = tmp_path / f"a{ending}"
    write_clip(path, clip, replace(SMALL, width=161, height=91))  # odd sizes lose a row and column
    name, size, colours, shown = probe(path)
    assert codec in name
    assert size == (160, 90)
    assert colours == "yuv420p"
    assert shown == pytest.approx(np.arange(24) / 24, abs=2e-3)


@pytest.mark.parametrize("ending", [".mp4", ".webm"])
def test_video_by_opencv(clip, tmp_path, ending):
    """Frames, rate and colours, through another reader than the one that wrote them."""
    pytest.importorskip("imageio_ffmpeg")
    cv2 = pytest.importorskip("cv2")
    path = tmp_path / f"a{ending}"
    write_clip(path, clip, SMALL)
    film = cv2.VideoCapture(str(path))
    assert film.isOpened()
    assert film.get(cv2.CAP_PROP_FPS) == pytest.approx(24)
    frames = []
    while (got := film.read())[0]:
        frames.append(got[1][..., ::-1])
    film.release()
    assert len(frames) == 24 and frames[0].shape == (90, 160, 3)
    write_clip(tmp_path / "a.png", clip, replace(SMALL, at=0.5))
    with Image.open(tmp_path / "a.png") as still:
        off = np.abs(np.asarray(still).astype(int) - frames[12].astype(int)).mean()
    assert off < 5, "the frame of 0.5 s, but for losses"


def test_a_film_without_ffmpeg_says_what_to_install(clip, tmp_path, monkeypatch):
    for name in [m for m in sys.modules if m.startswith(("imageio_ffmpeg", "imageio.plugins.ff"))]:
        monkeypatch.delitem(sys.modules, name)
    monkeypatch.setitem(sys.modules, "imageio_ffmpeg", None)
    with pytest.raises(InputError, match=r"\.mp4 needs ffmpeg: .*lumenmap\[video\]"):
        write_clip(tmp_path / "a.mp4", clip, SMALL)
    assert not list(tmp_path.iterdir())


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
    with pytest.raises(
        InputError, match=r"max_mb: 0.01 is too small: a.gif has [\d.]+ MB even at a width of \d+"
    ):
        write_clip(tmp_path / "a.gif", clip, replace(SMALL, max_mb=0.01))
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("name", "options", "message"),
    [
        ("a.gfi", {}, 'no picture format ".gfi"; did you mean ".gif"'),
        ("a.bmp", {}, 'no picture format ".bmp"; did you mean ".png"'),
        ("a.TIF", {}, 'no picture format ".TIF"; did you mean ".png"'),
        ("a.mov", {}, 'no picture format ".mov"; did you mean ".mp4"'),
        ("a.htlm", {}, 'no picture format ".htlm"; did you mean ".html"'),
        ("a.xyz", {}, 'no picture format ".xyz"; formats: .gif, .webp'),
        ("a", {}, "its name has no ending; expected one of .gif"),
        ("no/a.gif", {}, "can't be written: No such file"),
        ("no/a.mp4", {}, "can't be written: No such file"),
        ("a.gif", {"width": 0}, "a picture of 0 × 0 pixels; expected 16 to"),
        ("a.gif", {"width": 100_000}, "a picture of 100000 × 56250 pixels; expected 16 to"),
        ("a.png", {"at": 99.0}, "at: is 99 s, but the show lasts 1 s"),
        ("a.png", {"at": -1.0}, "at: is -1 s"),
        ("a.png", {"sheet": 1000}, "sheet: is 1000; expected 2 to 60"),
        ("a.gif", {"max_mb": -1.0}, "max_mb: is -1; expected 0.01 or more"),
        ("a.gif", {"view": "steet"}, 'no view "steet"; did you mean "street"'),
    ],
)
def test_bad_options_are_one_sentence_and_leave_nothing(clip, tmp_path, name, options, message):
    with pytest.raises(InputError, match=message):
        write_clip(tmp_path / name, clip, replace(SMALL, **options))
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize("ending", [".gif", ".webp", ".apng", ".mp4", ".png"])
def test_no_frames_write_nothing(clip, tmp_path, ending):
    with pytest.raises(InputError, match="there are no frames to write"):
        write_clip(tmp_path / f"a{ending}", replace(clip, count=0), SMALL)
    assert not list(tmp_path.iterdir())


def test_an_unknown_time_of_day_is_refused():
    with pytest.raises(InputError, match='no time "dawn"; times: day, dusk, night'):
        Look("dawn")
