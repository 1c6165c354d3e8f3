"""Films as phones write them: turned, and with ten bits. ffmpeg decodes and turns the same films."""

import shutil
import subprocess

import numpy as np
import pytest

from lumenmap.camera.film.frames import bars_of, film_frames

pytestmark = pytest.mark.skipif(not shutil.which("ffmpeg"), reason="no ffmpeg to make films with")
FFMPEG = ("ffmpeg", "-v", "error", "-y")


def made(folder, turned, *encoding):
    """A film of a test picture, which says that it is to be shown turned by so many degrees."""
    source = ("-f", "lavfi", "-i", "testsrc2=s=640x360:r=10:d=0.2", *encoding)
    subprocess.run([*FFMPEG, *source, str(folder / "plain.mp4")], check=True)
    note = ("-c", "copy", "-metadata:s:v", f"rotate={turned}", str(folder / "film.mp4"))
    subprocess.run([*FFMPEG, "-i", str(folder / "plain.mp4"), *note], check=True)
    return folder / "film.mp4"


@pytest.mark.parametrize("turned", [90, 180])
def test_a_film_of_a_turned_phone_stands_upright(tmp_path, turned):
    film = made(tmp_path, turned, "-c:v", "libx264", "-pix_fmt", "yuv420p")
    shown = subprocess.run(
        [*FFMPEG, "-i", film, "-frames:v", "1", "-f", "rawvideo", "-pix_fmt", "yuv420p", "-"],
        stdout=subprocess.PIPE,
        check=True,
    ).stdout
    frame = next(iter(film_frames(film)))
    high, wide = (360, 640) if turned == 180 else (640, 360)
    right = np.frombuffer(shown[: high * wide], np.uint8).reshape(high, wide)
    assert (frame.bright == right).all()
    assert frame.colours().shape == (high, wide, 3)


def test_a_film_with_ten_bits_has_the_codes_of_one_with_eight(tmp_path):
    """Codes of 16 to 235, not of 0 to 255, as other decoders give for grey."""
    ten = ("-c:v", "libx265", "-x265-params", "log-level=error:lossless=1")
    film = made(tmp_path, 0, *ten, "-pix_fmt", "yuv420p10le")
    eight = ("-frames:v", "1", "-f", "rawvideo", "-pix_fmt", "yuv420p", "-")
    shown = subprocess.run([*FFMPEG, "-i", film, *eight], stdout=subprocess.PIPE, check=True).stdout
    frame = next(iter(film_frames(film)))
    right = np.frombuffer(shown[: 640 * 360], np.uint8).reshape(360, 640).astype(int)
    assert np.abs(frame.bright - right).max() <= 1
    assert right.min() >= 16


@pytest.mark.parametrize(
    "how",
    [
        ("-vf", "scale=out_range=full", "-pix_fmt", "yuvj420p", "-color_range", "pc"),
        ("-vf", "scale=out_range=full", "-pix_fmt", "yuv420p", "-color_range", "pc"),
        ("-pix_fmt", "yuv444p",),
        ("-pix_fmt", "yuv422p10le",),
    ],
)  # fmt: skip
def test_a_film_has_the_same_codes_however_it_is_written(tmp_path, how):
    """Black of a film with codes of 0 to 255 was read as darker than black, and white as lighter."""
    lossless = ("-c:v", "libx264", "-qp", "0")
    usual = next(iter(film_frames(made(tmp_path, 0, *lossless, "-pix_fmt", "yuv420p")))).bright
    other = next(iter(film_frames(made(tmp_path, 0, *lossless, *how)))).bright
    assert np.abs(usual.astype(int) - other).max() <= 2


@pytest.mark.parametrize(("pad", "bars"), [((960, 360), (160, 0)), ((640, 640), (0, 140))])
def test_bars_that_a_program_put_round_a_film_are_left_out(tmp_path, pad, bars):
    """They stand still, and the frames were moved onto them in place of the house."""
    around = ("-vf", f"pad={pad[0]}:{pad[1]}:(ow-iw)/2:(oh-ih)/2")
    usual = ("-c:v", "libx264", "-qp", "0", "-pix_fmt", "yuv420p")
    film = made(tmp_path, 0, *around, *usual)
    assert bars_of(next(iter(film_frames(film))).bright) == bars
    inner = next(iter(film_frames(film, bars)))
    plain = next(iter(film_frames(made(tmp_path, 0, *usual))))
    assert (inner.bright == plain.bright).all()
    assert inner.colours().shape == (360, 640, 3)


def test_a_night_in_which_only_lights_are_seen_has_no_bars():
    dark = np.full((360, 640), 16, np.uint8)
    assert bars_of(dark) == (0, 0)
    dark[100:200, 150:500:6] = 200
    assert bars_of(dark) == (0, 0)
    dark[200:] = 40  # a lawn below a black sky
    assert bars_of(dark) == (0, 0)
