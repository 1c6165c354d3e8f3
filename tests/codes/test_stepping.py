"""A slow dim fade is noted, a quick or a bright one isn't."""

import numpy as np
import pytest

from lumenmap.codes.dither import thresholds
from lumenmap.codes.stepping import StepCounter


def fade(start, end, seconds, fps, pixels=40):
    steps = 255 * np.linspace(start, end, int(seconds * fps), dtype=np.float32)
    steps = np.broadcast_to(steps[None, :, None], (3, len(steps), pixels))
    codes = np.floor(steps + thresholds(0, steps.shape[1], pixels, 3, fps))
    return np.moveaxis(codes, 0, 2).astype(np.uint8)


def found(codes, fps, block=17):
    counter = StepCounter(fps)
    for i in range(0, len(codes), block):
        counter.add(codes[i : i + block])
    return counter.note()


@pytest.mark.parametrize("fps", [24, 30, 40])
def test_a_minutes_fade_to_two_percent_is_noted(fps):
    note = found(fade(0.02, 0, 60, fps), fps)
    assert note.startswith("from ") and "each pixel is seen to step" in note
    assert found(fade(0, 0.03, 60, fps), fps) == found(fade(0, 0.03, 60, fps), fps, 501) != ""


def test_where_it_is():
    dark = np.zeros((600, 40, 3), np.uint8)
    note = found(np.concatenate([dark, fade(0, 0.02, 40, 30), dark + 5]), 30)
    start, end = (float(note.split()[i]) for i in (1, 3))
    assert 20 < start < 50 and 45 < end <= 61


@pytest.mark.parametrize(
    ("start", "end", "seconds"), [(0, 1, 60), (0.02, 0, 3), (0.5, 0.4, 60), (0.02, 0.02, 60)]
)
def test_other_fades_are_not(start, end, seconds):
    assert found(fade(start, end, seconds, 30), 30) == ""


def test_twinkling_is_no_fade():
    rng = np.random.default_rng(2)
    assert found(np.repeat(rng.integers(0, 9, (60, 40, 3), np.uint8), 45, axis=0), 30) == ""
