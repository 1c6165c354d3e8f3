"""Palettes and places: near in OKLab, calm in time, a pattern that stands still."""

import tracemalloc

import numpy as np
import pytest

from lumenmap.colour.oklab import from_linear
from lumenmap.colour.transfer import to_linear
from lumenmap.core import parallel
from lumenmap.pictures.encode.colour_cells import packed
from lumenmap.pictures.encode.gif import Drawn, write_gif
from lumenmap.pictures.encode.gif_format import SAME
from lumenmap.pictures.encode.nearest import Nearest
from lumenmap.pictures.encode.palette_fit import fit_palette


def lab(rgb):
    return from_linear(to_linear(np.asarray(rgb) / 255))


def mapped(mapper, frame):
    """The indices of the next frame of a mapper."""
    mapper.frames(frame[None])
    return mapper.indices.copy()


def gradient(height=40, width=256):
    ramp = np.linspace(20, 120, width)
    return np.broadcast_to(ramp[None, :, None], (height, width, 3)).astype(np.uint8)


def test_a_palette_of_few_colours_is_those_colours():
    frame = np.zeros((8, 9, 3), np.uint8)
    frame[:, 3:6] = (200, 30, 10)
    frame[:, 6:] = (0, 0, 255)
    fitted = fit_palette([frame], 255)
    assert sorted(map(tuple, fitted.tolist())) == [(0, 0, 0), (0, 0, 255), (200, 30, 10)]


def test_the_fit_beats_pillows():
    """Mean OKLab error against Pillow's median cut of the same picture and count."""
    from PIL import Image

    rng = np.random.default_rng(4)
    soft = np.add.outer(np.linspace(0, 3, 120), np.linspace(0, 4, 160))
    frame = (127 + 120 * np.stack([np.sin(soft + k) for k in rng.random(3) * 6], -1)).astype(
        np.uint8
    )
    ours = fit_palette([frame], 64)
    theirs = Image.fromarray(frame).quantize(64)
    seen = np.asarray(theirs.convert("RGB"))
    own = ours[mapped(Nearest(ours), frame)]
    errors = [np.linalg.norm(lab(frame) - lab(p), axis=-1).mean() for p in (own, seen)]
    assert errors[0] < 0.8 * errors[1]


def test_places_are_the_nearest_in_oklab():
    rng = np.random.default_rng(2)
    palette = rng.integers(0, 256, (40, 3), np.uint8)
    frame = rng.integers(0, 256, (30, 30, 3), np.uint8)
    got = mapped(Nearest(palette), frame)
    distance = np.linalg.norm(lab(frame)[:, :, None] - lab(palette), axis=-1)
    best = distance.min(-1)
    picked = np.take_along_axis(distance, got[..., None].astype(int), -1)[..., 0]
    # Colours are looked up by cells of up to three codes each way.
    assert np.abs(picked - best).max() < 0.01
    assert np.abs(picked - best).mean() < 3e-4


def test_a_colour_that_wavers_keeps_its_place():
    palette = np.array([[40, 40, 40], [80, 80, 80]], np.uint8)
    mapper = Nearest(palette)
    codes = (58, 61, 57, 61, 66)
    places = [mapped(mapper, np.full((4, 4, 3), v, np.uint8)) for v in codes]
    assert (places[0] == 0).all()
    assert all((p == 0).all() for p in places[:4])  # 61 is nearer to 80, but hardly
    assert (places[4] == 1).all()


def test_dither_mixes_and_stands_still():
    palette = np.array([[20, 20, 20], [70, 70, 70], [120, 120, 120]], np.uint8)
    plain, mixed = mapped(Nearest(palette), gradient()), Nearest(palette, dither="always")
    first = mapped(mixed, gradient())
    assert len(np.unique(first[:, 60])) == 2  # a column of one colour is a mixture of two
    assert len(np.unique(plain[:, 60])) == 1
    again = gradient().copy()
    again[:5, :5] = 255
    second = mapped(mixed, again)
    assert (second[6:] == first[6:]).all()


def test_dither_mixes_near_contours_that_show_and_nowhere_else():
    """Of two greys 50 codes apart the middle half is mixed; a step of two codes doesn't show."""
    grey = np.broadcast_to(np.repeat(np.arange(50, 101, dtype=np.uint8), 8)[:, None], (8, 408, 1))
    palette = np.array([[50] * 3, [100] * 3], np.uint8)
    picked = mapped(Nearest(palette, dither="always"), np.repeat(grey, 3, axis=2))
    mixed = [len(np.unique(picked[:, x : x + 8])) == 2 for x in range(0, 408, 8)]
    assert not any(mixed[:12]) and not any(mixed[-12:]) and all(mixed[16:-16])
    close = np.array([[60] * 3, [62] * 3], np.uint8)
    between = np.full((16, 16, 3), 61, np.uint8)
    assert len(np.unique(mapped(Nearest(close, dither="always"), between))) == 1


def test_frames_that_are_views_of_four_bytes_are_read_alike():
    rng = np.random.default_rng(0)
    four = rng.integers(0, 256, (7, 5, 4), np.uint8)
    assert (packed(four[..., :3]) & 0xFFFFFF == packed(four[..., :3].copy())).all()


@pytest.mark.parametrize("dither", ["never", "first", "always"])
def test_where_frames_changed_is_told(dither):
    rng = np.random.default_rng(3)
    palette = rng.integers(0, 256, (30, 3), np.uint8)
    frame, frames = rng.integers(0, 256, (20, 30, 3)), []
    for _ in range(20):
        rows = slice(*sorted(rng.integers(0, 21, 2)))
        frame[rows] = np.clip(frame[rows] + rng.integers(-40, 41, frame[rows].shape), 0, 255)
        frames.append(frame.astype(np.uint8))
    one_by_one, together = (Nearest(palette, dither=dither) for _ in range(2))
    shown = np.full((20, 30), SAME, np.uint8)
    told = zip(*together.frames(np.stack(frames)), strict=True)
    for n, (frame, (changes, box)) in enumerate(zip(frames, told, strict=True)):
        before, shown = shown, np.where(changes == SAME, shown, changes)
        assert (mapped(one_by_one, frame) == shown).all()
        places = np.argwhere(shown != before)
        ends = [*places.min(0)[::-1], *places.max(0)[::-1] + 1] if len(places) else [0] * 4
        assert [*box[:2], *(box[:2] + box[2:])] == ends, n
        assert ((changes == SAME) == (shown == before)).all()


def test_noise_is_mapped_too():
    """More colours than are kept: slower, never wrong."""
    rng = np.random.default_rng(1)
    frames = rng.integers(0, 256, (3, 500, 400, 3), np.uint8)
    palette = fit_palette([frames[0, ::9]], 64)
    mapper = Nearest(palette)
    for frame in frames:
        got = mapped(mapper, frame)
    off = np.linalg.norm(lab(frames[-1][::7]) - lab(palette[got])[::7], axis=-1)
    assert off.mean() < 0.1


def test_memory_does_not_grow_with_the_length_of_a_gif(tmp_path, monkeypatch):
    def draw(i, j):
        frames = np.zeros((j - i, 60, 90, 3), np.uint8)
        for n, frame in enumerate(frames, i):
            frame[:, (7 * n) % 80 : (7 * n) % 80 + 9] = (n % 256, 90, 200 - n % 200)
        return frames

    monkeypatch.setattr(parallel, "processors", lambda: 1)
    write_gif(tmp_path / "a.gif", Drawn(draw, 30, 20), palette_from=draw(0, 20))
    peaks = []
    for count in (60, 900):
        tracemalloc.start()
        write_gif(tmp_path / "a.gif", Drawn(draw, count, 20), palette_from=draw(0, 20))
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] < 1.1 * peaks[0]


def test_what_stands_still_is_dithered_and_stays(monkeypatch):
    """A gradient beside a part that changes: mixed where it's still, nearest where it changed."""
    mapper = Nearest(np.array([[0, 0, 0], [255, 255, 255]], np.uint8), dither="first")
    first = gradient()
    later = first.copy()
    later[:10] = 255 - later[:10]
    a, b = mapped(mapper, first), mapped(mapper, later)
    assert len(np.unique(a[:, 60])) == 2
    assert (a[10:] == b[10:]).all()
    nearest = mapped(Nearest(np.array([[0, 0, 0], [255, 255, 255]], np.uint8)), later)
    off = b[:10] != nearest[:10]
    assert off.mean() < 0.1  # but for what keeps its old colour while that is near enough
