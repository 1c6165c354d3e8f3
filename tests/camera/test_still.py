"""Frames of a hand-held film, put in place: of an invented picture, moved by OpenCV."""

import cv2
import numpy as np
import pytest

from lumenmap.camera.film.still import Still


def wall(rng):
    """A dim picture, larger than a frame, with boards, windows and doors of its own."""
    made = np.full((480, 780), 14, np.float32)
    for _ in range(40):
        x, y, wide, high = rng.integers((0, 0, 15, 10), (720, 430, 120, 60))
        made[y : y + high, x : x + wide] += rng.uniform(-10, 30)
    return cv2.GaussianBlur(np.clip(made, 2, 90), (0, 0), 1.2)


def frame_of(picture, x, y, rng):
    """A frame, 640 by 360, whose corner lies at a place of the picture, with a phone's noise."""
    move = np.array([[1, 0, -x], [0, 1, -y]], np.float32)
    frame = cv2.warpAffine(picture, move, (640, 360))
    return np.clip(frame + rng.normal(0, 2.5, frame.shape), 0, 255).astype(np.uint8)


@pytest.mark.parametrize("seed", range(2))
def test_a_jerk_of_the_hand_is_followed(seed):
    """60 px from one frame to the next, and back; before and after it a hand's slow shake."""
    rng = np.random.default_rng(seed)
    picture = wall(rng)
    still = Still(frame_of(picture, 70, 60, rng))
    for x, y in ((0, 0), (1.5, -0.5), (55, -23), (57, -22), (-3, 2), (-60, 12), (0.4, 0.3)):
        move = still.move(frame_of(picture, 70 + x, 60 + y, rng))
        assert move is not None
        middle = np.array([320, 180])
        assert np.abs(move @ [*middle, 1] - (middle - (x, y))).max() < 0.25
    assert still.lost == 0


def test_a_lens_that_hunts_for_focus_is_followed():
    """The picture grows by 1 %: by more than 3 px at the rim of a frame 640 wide."""
    rng = np.random.default_rng(4)
    picture = wall(rng)
    still = Still(frame_of(picture, 70, 60, rng))
    for scale in (1.0, 1.004, 1.01, 0.993):
        grown = cv2.warpAffine(
            picture,
            np.array([[scale, 0, 390 * (1 - scale)], [0, scale, 240 * (1 - scale)]]),
            (780, 480),
        )
        move = still.move(frame_of(grown, 70, 60, rng))
        assert move is not None
        for corner in ((60, 40), (580, 320)):
            right = np.array([320, 180]) + scale * (corner - np.array([320, 180]))
            assert np.abs(move @ [*corner, 1] - right).max() < 0.5


def test_a_frame_of_something_else_is_lost():
    rng = np.random.default_rng(1)
    still = Still(frame_of(wall(rng), 70, 60, rng))
    assert still.move(frame_of(wall(rng), 70, 60, rng)) is None
    assert still.lost == 1
