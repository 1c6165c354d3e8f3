"""Dither: right on average, over frames and over pixels; whole codes left whole."""

import numpy as np
import pytest

from lumenmap.codes.dither import thresholds


@pytest.mark.parametrize("level", [0.03, 0.25, 0.5, 3.4, 77.9])
def test_the_mean_is_the_light(level):
    light = np.float32(level)
    codes = np.floor(light + thresholds(0, 64, 100, 3))
    assert np.unique(codes).size <= 2
    # Over 16 frames each pixel is within an eighth of a code; all together far nearer.
    assert np.abs(codes[:, :16].mean(axis=1) - level).max() < 0.125
    assert codes.mean() == pytest.approx(level, abs=0.005)


def test_a_slow_fade_stays_smooth_at_8_bits():
    """From 0 to 2 codes in 4 s: seen through 8 frames and neighbours, no step is left."""
    fade = np.linspace(0, 2, 120, dtype=np.float32)
    codes = np.floor(fade[None, :, None] + thresholds(0, 120, 60, 1))[0]
    seen = np.array([codes[t : t + 8].mean() for t in range(112)])
    assert (np.diff(seen) >= -0.02).all() and np.abs(np.diff(seen)).max() < 0.06
    plain = np.rint(fade)
    assert np.abs(np.diff(plain)).max() == 1


def test_whole_codes_and_black_stay():
    whole = np.arange(256, dtype=np.float32)[None, None, :]
    assert (np.floor(whole + thresholds(0, 50, 256, 3)) == whole).all()


@pytest.mark.parametrize("channels", [3, 4])
def test_channels_take_turns(channels):
    """A grey between two codes: its channels go up in different frames, which hides the step."""
    turns = np.sort(thresholds(0, 1, 1, channels).ravel())
    assert np.diff(turns) == pytest.approx(1 / channels, abs=2e-3)
    grey = np.floor(np.float32(0.5) + thresholds(0, 200, 30, channels)).sum(axis=0)
    assert not (grey == channels).any() and not (grey == 0).any()


def test_a_pure_function_of_frame_and_pixel():
    all_at_once = thresholds(0, 100_100, 5, 3)
    assert (thresholds(100_000, 100, 5, 3) == all_at_once[:, 100_000:]).all()
    assert all_at_once.min() >= 0 and all_at_once.max() < 1
