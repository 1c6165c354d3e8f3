"""Frames put in place by their lights alone: against the shift, turn and size they were made with."""

import itertools

import cv2
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lumenmap.camera.film.lights import Lights

WIDTH, HEIGHT = 1280, 720
#: An invented roofline: a gable and two eaves, with a light every 17 pixels.
CORNERS = [(150, 420), (400, 180), (650, 420), (1100, 400), (1100, 330), (700, 335)]


def roofline():
    """(K, 2) the places of lights."""
    parts = []
    for a, b in itertools.pairwise(CORNERS):
        a, b = np.array(a, float), np.array(b, float)
        along = np.arange(4.0, np.linalg.norm(b - a), 17)
        parts.append(a + along[:, None] * (b - a) / np.linalg.norm(b - a))
    return np.concatenate(parts)


def picture(places, rng):
    """A frame with lights at places, and noise."""
    frame = np.zeros((HEIGHT, WIDTH), np.float32)
    for x, y in places:
        column, row = round(x), round(y)
        near = np.s_[max(row - 6, 0) : row + 7, max(column - 6, 0) : column + 7]
        dy, dx = np.mgrid[near]
        frame[near] += 230 * np.exp(-((dx - x) ** 2 + (dy - y) ** 2) / (2 * 1.4**2))
    return np.clip(frame + 18 + rng.normal(0, 2, frame.shape), 0, 255).astype(np.uint8)


def moved(places, move):
    """Where places are in a frame that was moved by (2, 3), by OpenCV."""
    return cv2.transform(places[None], move)[0]


def turned(x, y, degrees, size):
    """The (2, 3) map of a shift, a turn about the picture's middle, and a size, by OpenCV."""
    move = cv2.getRotationMatrix2D((WIDTH / 2, HEIGHT / 2), degrees, size)
    move[:, 2] += (x, y)
    return move


@settings(max_examples=12, deadline=None)
@given(
    x=st.floats(-5, 5),
    y=st.floats(-5, 5),
    degrees=st.floats(-0.4, 0.4),
    size=st.floats(0.995, 1.005),
    seed=st.integers(0, 99),
)
def test_a_frame_with_some_of_the_lights_is_put_in_place(x, y, degrees, size, seed):
    rng = np.random.default_rng(seed)
    places = roofline()
    lights = Lights(picture(places, rng))
    move = turned(x, y, degrees, size)
    some = moved(places, move)[rng.random(len(places)) < 0.3]
    strange = rng.uniform((50, 50), (WIDTH - 50, HEIGHT - 50), (2, 2))  # a car, a neighbour
    found = lights.move(picture([*some, *strange], rng))
    off = np.linalg.norm(moved(places, found.astype(np.float64)) - moved(places, move), axis=1)
    assert np.median(off) < 0.25
    assert off.max() < 1.0


@pytest.mark.parametrize("shift", [(38, 0), (-34, 12), (60, -41)])
def test_after_a_jerk_the_frame_is_found_again(shift):
    """Also one of two spacings, which half of the lights would fit."""
    rng = np.random.default_rng(4)
    places = roofline()
    lights = Lights(picture(places, rng))
    some = places[rng.random(len(places)) < 0.4] + shift
    found = lights.move(picture(some, rng))
    assert found[:, 2] == pytest.approx(shift, abs=0.6)


def test_a_dark_frame_lies_where_the_last_one_did_and_other_lights_are_lost():
    rng = np.random.default_rng(5)
    places = roofline()
    lights = Lights(picture(places, rng))
    last = lights.move(picture(places[::3] + np.array((3, -2)), rng))
    assert last[:, 2] == pytest.approx((3, -2), abs=0.2)
    assert np.array_equal(lights.move(picture([], rng)), last)
    assert lights.lost == 0
    strange = rng.uniform((50, 50), (WIDTH - 50, HEIGHT - 50), (40, 2))
    assert lights.move(picture(strange, rng)) is None
    assert lights.lost == 1


def test_a_flash_without_lights_puts_nothing_in_place():
    rng = np.random.default_rng(6)
    lights = Lights(picture([], rng))
    assert lights.move(picture(roofline(), rng)) is None
    assert lights.lost == 1
