"""Dither: right on average, over frames and over pixels; no slow beat; whole codes left whole."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.codes.dither import SLOWEST_HZ, dimmed, thresholds, turn_frames, where_seen
from lumenmap.controller.e131.pace import pace


@pytest.mark.parametrize("fps", [24, 30, 60, 120, 240])
@pytest.mark.parametrize("level", [0.03, 0.25, 0.5, 3.4, 60.9])
def test_the_mean_is_the_light(level, fps):
    light = np.full((3, 48, 400), level, np.float32)
    codes = np.floor(light + thresholds(0, 48, 400, 3, fps))
    assert np.unique(codes).size <= 2
    assert codes.mean() == pytest.approx(level, abs=0.01)
    # Any 20 neighbours are within a tenth of a code, over as many frames as the eye merges.
    near = codes.reshape(3, -1, turn_frames(fps), 20, 20).mean(axis=(2, 4))
    assert np.abs(near - level).max() <= 0.1


@pytest.mark.parametrize("fps", [10, 24, 25, 30, 40, 44, 50, 60, 100, 120, 144, 240])
def test_no_pixel_beats_below_25_hertz(fps):
    """Fourier: still light gives no pixel a component between 0 and 25 Hz, whatever its level."""
    frames = 240 * turn_frames(fps)
    for level in (0.02, 0.1, 0.37, 0.5, 1.9, 5.1):
        light = np.full((3, frames, 60), level, np.float32)
        codes = np.floor(light + thresholds(7, frames, 60, 3, fps))
        spectrum = np.abs(np.fft.rfft(codes, axis=1)) / frames
        slow = np.fft.rfftfreq(frames, 1 / fps)
        beat = (slow > 0) & (slow < SLOWEST_HZ - 1e-9)
        assert spectrum[:, beat].max(initial=0) < 1e-9
    # What E1.31 sends of it, every second or third frame at more than 44 a second, has none either.
    for level in (0.1, 0.5, 5.3):
        light = np.full((3, frames, 60), level, np.float32)
        sent = np.floor(light + thresholds(7, frames, 60, 3, fps))[:, :: pace(fps).step]
        spectrum = np.abs(np.fft.rfft(sent, axis=1)) / sent.shape[1]
        hertz = np.fft.rfftfreq(sent.shape[1], pace(fps).step / fps)
        beat = (hertz > 0) & (hertz < SLOWEST_HZ - 1e-9)
        assert spectrum[:, beat].max(initial=0) < 1e-9


def test_in_how_many_frames_thresholds_take_turns():
    found = {fps: turn_frames(fps) for fps in (10, 30, 44, 45, 49, 50, 60, 88, 100, 120, 240)}
    assert found == {10: 1, 30: 1, 44: 1, 45: 1, 49: 1, 50: 2, 60: 2, 88: 2, 100: 3, 120: 3, 240: 6}


def test_quick_frames_take_turns_and_bring_each_pixel_nearer():
    """At 120 frames/s each pixel's own mean over three frames is within a third of a code."""
    codes = np.floor(np.float32(3.4) + thresholds(0, 120, 100, 3, 120))
    assert np.abs(codes.mean(axis=1) - 3.4).max() <= 1 / 3 + 1e-6
    assert (np.ptp(codes, axis=1) == 1).mean() > 0.8
    # Neighbours don't turn together: the sum over pixels hardly moves.
    assert np.ptp(codes[0].mean(axis=1)) < 0.06


@pytest.mark.parametrize("fps", [30, 60])
def test_a_minutes_fade_to_two_percent_is_smooth_and_keeps_its_hue(fps):
    """Plain rounding has six levels of red on the way; the mean over 60 pixels has over a hundred."""
    amber = np.array([1.0, 0.41, 0.06])
    fade = np.linspace(0.02, 0, 60 * fps)[:, None] * 255 * amber
    steps = np.repeat(fade.T[:, :, None], 60, axis=2).astype(np.float32)
    rounding = thresholds(0, 60 * fps, 60, 3, fps)
    codes = np.floor(steps + where_seen(steps, rounding))
    seen = codes.reshape(3, 60, fps, 60).mean(axis=(2, 3))  # a second, 60 neighbours
    due = steps.reshape(3, 60, fps, 60).mean(axis=(2, 3))
    assert np.abs(seen - due).max() < 0.05
    assert np.unique(codes.mean(axis=2)[0].round(4)).size > 100
    assert np.unique(np.rint(steps)[0]).size == 6
    hue = seen[1, :40] / seen[0, :40]
    assert np.abs(hue - 0.41).max() < 0.03
    plain = np.rint(due)[:, :40]
    assert np.abs(plain[1] / np.maximum(plain[0], 1) - 0.41).max() > 0.08


def test_bright_light_is_rounded_as_it_is():
    steps = np.array([[[63.4, 64.4, 200.5, 254.7]]], np.float32)
    rounding = where_seen(steps, np.full_like(steps, 0.99))
    assert np.floor(steps + rounding).tolist() == [[[64, 64, 201, 255]]]


@pytest.mark.parametrize("fps", [30, 50, 120])
def test_whole_codes_and_black_stay(fps):
    whole = np.arange(256, dtype=np.float32)[None, None, :]
    assert (np.floor(whole + thresholds(0, 50, 256, 3, fps)) == whole).all()


@pytest.mark.parametrize("channels", [3, 4])
def test_channels_take_turns(channels):
    """A grey between two codes: its channels go up on different pixels, which hides the step."""
    turns = np.sort(thresholds(0, 1, 1, channels).ravel())
    assert np.diff(turns) == pytest.approx(1 / channels, abs=2e-3)
    grey = np.floor(np.float32(0.5) + thresholds(0, 200, 30, channels)).sum(axis=0)
    assert not (grey == channels).any() and not (grey == 0).any()


@pytest.mark.parametrize("fps", [30, 120])
def test_a_pure_function_of_frame_and_pixel(fps):
    all_at_once = np.zeros((3, 10_100, 5)) + thresholds(0, 10_100, 5, 3, fps)
    assert (thresholds(10_000, 100, 5, 3, fps) == all_at_once[:, 10_000:]).all()
    assert all_at_once.min() >= 0 and all_at_once.max() < 1


@given(st.floats(0.01, 1), st.sampled_from([25.0, 44.0, 120.0]), st.integers(0, 9))
def test_finished_codes_are_dimmed_on_average_and_never_raised(level, fps, first):
    codes = np.repeat(np.arange(256, dtype=np.uint8)[None, :, None], 60, axis=2).reshape(1, -1)
    codes = np.repeat(codes, 8, axis=0)
    got = dimmed(codes, level, first, fps)
    assert (got <= codes).all()
    assert np.abs(got - codes * level).max() < 1 + 1e-3
    dim = got.reshape(8, 256, 60).mean(axis=(0, 2)) - np.arange(256) * level
    assert np.abs(dim[np.arange(256) * level < 60]).max() < 0.08


def test_dithered_codes_are_dimmed_without_a_bias():
    """Both dithers of one slot are unlike: 0.3 at 37 % is 0.111 and not 0.3."""
    codes = np.floor(np.float32(0.3) + thresholds(0, 1, 3000, 3)).astype(np.uint8)
    wire = np.moveaxis(codes, 0, 2).reshape(1, -1)
    assert dimmed(wire, 0.37, 0, 30).mean() == pytest.approx(0.111, abs=0.01)
