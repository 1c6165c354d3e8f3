"""Channel planes: there and back."""

import numpy as np
import pytest

from lumenmap.codes.planes import from_planes, to_planes


def test_there_and_back():
    codes = np.random.default_rng(0).integers(0, 256, (4, 7, 4), np.uint8)
    light = codes.astype(np.float32) / np.float32(255)
    assert (from_planes(np.rint(to_planes(light))) == codes).all()


def test_outside_is_clipped_and_the_input_left_alone():
    light = np.array([[[-1.0, 0.5, 2.0]]], np.float32)
    planes = to_planes(light)
    assert planes.ravel().tolist() == [0, 127.5, 255] and light[0, 0, 2] == 2


@pytest.mark.parametrize("outside", [-0.5, -1e-6, 1.000001, 1.5])
def test_one_side_alone_is_clipped_too(outside):
    """Code 256 would be black on the wire, and -1 full: both wrap round in a byte."""
    planes = to_planes(np.array([[[0.25, outside, 0.75]]], np.float32))
    assert planes.min() >= 0 and planes.max() <= 255
    assert planes[[0, 2], 0, 0].tolist() == [63.75, 191.25]


def test_no_pixels():
    assert from_planes(to_planes(np.zeros((3, 0, 3), np.float32))).shape == (3, 0, 3)
