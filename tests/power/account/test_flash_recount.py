"""Flashes: the count agrees with an independent implementation, which reads bytes."""

from dataclasses import replace

import numpy as np
import pytest

from lumenmap.codes.flashing import FlashCounter
from lumenmap.codes.white import join_white
from lumenmap.pixels.regions import flash_regions
from tests.power.references.flashes import FlashRecount


def in_wire_order(codes, pixelmap):
    raw = np.empty_like(codes)
    for span in pixelmap.lines:
        raw[:, span.slice] = codes[:, span.slice][..., ["RGBW".index(x) for x in span.order]]
    return raw.reshape(len(codes), -1)


def by_bytes(codes, pixelmap, fps, block):
    count = FlashRecount(fps, pixelmap)
    raw = in_wire_order(codes, pixelmap)
    for i in range(0, len(raw), block):
        count.add(raw[i : i + block])
    return [(f.region, f.kind, f.pattern, f.start, f.stop) for f in count.findings()]


def by_light(codes, pixelmap, fps, *, full=True):
    watch = FlashCounter(fps, flash_regions(pixelmap))
    watch.add(np.minimum(join_white(codes.astype(np.float32) / 255), 1))
    found = [f for f in watch.findings() if (f.brightest == 1) is full]
    return [(f.region, f.kind, f.pattern, f.start, f.stop) for f in found]


@pytest.fixture(params=["ws2812b", "sk6812-rgbw"])
def pixelmap(request, small_map):
    made = small_map((14, 9, 12), kind=request.param)
    lit = np.ones(35, bool)
    lit[[3, 20]] = False
    return replace(made, edge=made.line.copy(), edge_names=("eave", "rake", "ridge"), lit=lit)


def shows(rng, pixels, channels):
    """Random light, held for a few frames, whole or region by region or pixel by pixel."""
    frames = int(rng.integers(5, 90))
    colours = rng.integers(0, 256, (4, channels)) * rng.integers(0, 2, (4, channels))
    colours[0] = 0
    how = rng.integers(0, 4)
    hold = np.arange(frames) // rng.integers(1, 6)
    pick = rng.integers(0, 4, (frames, pixels if how == 0 else 1))[hold]
    if how == 1:
        pick = (hold[:, None] + np.arange(pixels) // 14) % 2
    elif how == 2:
        pick = (hold[:, None] + np.arange(pixels)) % 2 * rng.integers(1, 4)
    codes = np.broadcast_to(colours[pick], (frames, pixels, channels)).astype(np.uint8)
    if rng.random() < 0.4:
        codes = codes.copy()
        codes[frames // 3 : 2 * frames // 3] = colours[1]
    return codes


def test_both_counts_find_the_same(pixelmap):
    rng = np.random.default_rng(9)
    some = 0
    for _ in range(150):
        codes = shows(rng, 35, pixelmap.kind.channels)
        fps = float(rng.choice([12, 25, 30, 29.97]))
        expected = by_light(codes, pixelmap, fps)
        assert by_bytes(codes, pixelmap, fps, int(rng.integers(1, 40))) == expected
        some += bool(expected)
    assert 40 < some < 140  # both kinds of show are among them


def test_dim_light_is_counted_as_its_fifteenfold_would_be(small_map):
    """At most 17 of 255 is 6.7 % of full light, so no change of it is 10 %; 15 * 17 is 255 [K]."""
    pixelmap = small_map((14, 9, 12), kind="ws2812b")
    rng, some = np.random.default_rng(4), 0
    for _ in range(100):
        codes = shows(rng, 35, 3)
        codes = np.round(codes.mean(axis=2, keepdims=True) / 15).astype(np.uint8).repeat(3, 2)
        codes[0, :20] = 17
        found = by_light(codes, pixelmap, 25.0, full=False)
        assert found == by_bytes(15 * codes, pixelmap, 25.0, 30)
        assert not by_light(codes, pixelmap, 25.0)
        some += bool(found)
    assert 20 < some < 90


@pytest.mark.parametrize(("every", "flagged"), [(1, True), (3, True), (4, True), (5, False)])
def test_worked_square_waves(every, flagged, pixelmap):
    """White and black every 4 frames at 30 fps: up to 8 transitions in a second; every 5: 6 [K]."""
    on = np.arange(240) // every % 2
    codes = np.broadcast_to(on[:, None, None] * 255, (240, 35, pixelmap.kind.channels))
    found = by_bytes(codes.astype(np.uint8), pixelmap, 30.0, 64)
    assert bool([f for f in found if f[1] == "general"]) is flagged


def test_a_dead_pixel_is_not_counted(pixelmap):
    codes = np.zeros((60, 35, pixelmap.kind.channels), np.uint8)
    codes[::2, [3, 20]] = 255
    assert by_bytes(codes, pixelmap, 30.0, 60) == []
