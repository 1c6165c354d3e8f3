"""GIFs as other programs see them."""

import itertools

import numpy as np
import pytest
from PIL import Image

from lumenmap.core.errors import InputError
from lumenmap.pictures.gif import delays, write_gif


def clip(count, height=40, width=60):
    frames = np.zeros((count, height, width, 3), np.uint8)
    for n in range(count):
        frames[n, 5:15, (3 * n) % width : (3 * n) % width + 8] = (250, 40, 10)
    return frames


@pytest.mark.parametrize("fps", [30, 24, 29.97, 12.5, 60, 7])
def test_delays_add_up_to_the_true_time(fps):
    sums = np.cumsum(list(itertools.islice(delays(fps), 500)))
    true = 100 * np.arange(1, 501) / fps
    assert np.abs(sums - true).max() <= 0.51


@pytest.mark.parametrize("fps", [30, 20])
def test_pillow_sees_the_frames_delays_and_loop(tmp_path, fps):
    frames = clip(45)
    assert write_gif(tmp_path / "a.gif", iter(frames), fps) == 45
    with Image.open(tmp_path / "a.gif") as seen:
        assert seen.info["loop"] == 0
        total = 0
        for n in range(seen.n_frames):
            seen.seek(n)
            total += seen.info["duration"]
            shown = np.asarray(seen.convert("RGB")).astype(int)
            assert np.abs(shown - frames[n]).max() <= 8
    assert total == pytest.approx(45_000 / fps, abs=10)


def test_frames_that_stand_still_lengthen_the_delay(tmp_path):
    write_gif(tmp_path / "a.gif", np.repeat(clip(2), 10, axis=0), 10)
    with Image.open(tmp_path / "a.gif") as seen:
        assert seen.n_frames == 2
        assert seen.info["duration"] == 1000


def test_no_frames_write_nothing(tmp_path):
    with pytest.raises(InputError, match="there are no frames to write"):
        write_gif(tmp_path / "a.gif", [], 20)
    assert not list(tmp_path.iterdir())


def test_an_unwritable_folder_is_one_sentence(tmp_path):
    with pytest.raises(InputError, match="a.gif: can't be written: No such file"):
        write_gif(tmp_path / "no" / "a.gif", clip(2), 20)


def test_a_rate_that_gif_cannot_hold_is_refused(tmp_path):
    with pytest.raises(InputError, match="a GIF of 200 frames a second; wanted"):
        write_gif(tmp_path / "a.gif", clip(2), 200)
