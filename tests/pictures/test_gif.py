"""GIFs as other programs see them."""

import itertools

import numpy as np
import pytest
from PIL import Image

from lumenmap.core import parallel
from lumenmap.core.errors import InputError
from lumenmap.pictures.encode import gif
from lumenmap.pictures.encode.gif_format import SAME, delays
from lumenmap.pictures.encode.nearest import Nearest
from lumenmap.pictures.encode.palette_fit import fit_palette


def clip(count, height=40, width=60):
    frames = np.zeros((count, height, width, 3), np.uint8)
    for n in range(count):
        frames[n, 5:15, (3 * n) % width : (3 * n) % width + 8] = (250, 40, 10)
    return frames


def write_gif(path, frames, fps, **how):
    gif.write_gif(
        path,
        gif.Drawn(lambda i, j: frames[i:j], len(frames), fps),
        palette_from=np.array(frames[::3]),
        **how,
    )


@pytest.mark.parametrize("fps", [30, 24, 29.97, 12.5, 60, 7])
def test_delays_add_up_to_the_true_time(fps):
    sums = np.cumsum(list(itertools.islice(delays(fps), 500)))
    true = 100 * np.arange(1, 501) / fps
    assert np.abs(sums - true).max() <= 0.51


@pytest.mark.parametrize("fps", [30, 20])
def test_pillow_sees_the_frames_delays_and_loop(tmp_path, fps):
    frames = clip(45)
    write_gif(tmp_path / "a.gif", frames, fps)
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
    with pytest.raises(InputError, match="fps: a GIF of 200 frames/s; expected 0.1 to 100"):
        write_gif(tmp_path / "a.gif", clip(2), 200)


def test_a_picture_that_stands_longer_than_a_delay_can_say(tmp_path):
    """A delay is 16 bits of 1/100 s (GIF89a, section 23): 655.35 s."""
    write_gif(tmp_path / "a.gif", np.concatenate([clip(1).repeat(90, axis=0), clip(2)[1:]]), 0.1)
    with Image.open(tmp_path / "a.gif") as seen:
        waits = []
        for n in range(seen.n_frames):
            seen.seek(n)
            waits.append(seen.info["duration"])
    assert waits == [655_350, 900_000 - 655_350, 10_000]


def soft(count, height=48, width=64):
    """Slow soft colours, as a show has them."""
    x, t = np.linspace(0, 6, width), np.arange(count) / 20
    wave = 0.5 + 0.5 * np.sin(x[None, :, None] + t[:, None, None] + np.arange(3))
    return (255 * np.broadcast_to(wave[:, None], (count, height, width, 3)) ** 2).astype(np.uint8)


@pytest.mark.parametrize("count", [1, 16, 17, 150])
def test_the_file_does_not_depend_on_the_number_of_processors(tmp_path, monkeypatch, count):
    frames = soft(count)
    for number in (1, 2, 5):
        monkeypatch.setattr(parallel, "processors", lambda number=number: number)
        write_gif(tmp_path / f"{number}.gif", frames, 20)
    one = (tmp_path / "1.gif").read_bytes()
    assert all((tmp_path / f"{n}.gif").read_bytes() == one for n in (2, 5))


@pytest.mark.parametrize("dither", [False, True])
def test_every_frame_is_what_mapping_them_in_order_gives(tmp_path, dither):
    """Blocks are drawn, mapped and compressed at the same time; Pillow shows the frames."""
    frames = soft(75)
    write_gif(tmp_path / "a.gif", frames, 20, dither=dither)
    palette = fit_palette(list(frames[::3]), SAME)
    mapper = Nearest(palette, dither="always" if dither else "first")
    with Image.open(tmp_path / "a.gif") as seen:
        assert seen.n_frames == len(frames)
        for n, frame in enumerate(frames):
            seen.seek(n)
            mapper.frames(frame[None])
            assert (np.asarray(seen.convert("RGB")) == palette[mapper.indices]).all(), n
