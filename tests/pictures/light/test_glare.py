"""Glare against scipy's Gaussian filter of the whole picture."""

import numpy as np
import pytest
from scipy import ndimage

from lumenmap.pictures.light.base import GLARE, _glare
from lumenmap.pictures.scene.camera import measure_of


@pytest.mark.parametrize("shape", [(16, 16), (90, 160), (360, 640), (853, 480)])
def test_glare_is_that_of_blurs_of_the_whole_picture(shape):
    rng = np.random.default_rng(sum(shape))
    picture = np.zeros(shape)
    for y, x in zip(rng.integers(0, shape[0], 6), rng.integers(0, shape[1], 6), strict=True):
        picture[y : y + shape[0] // 12 + 1, x : x + shape[1] // 20 + 1] += 3 * rng.random()
    picture[:2, :2] = 1.5  # what is beyond an edge mirrors it
    measure = measure_of(shape[1], shape[0])
    want = sum(part * ndimage.gaussian_filter(picture, share * measure) for part, share in GLARE)
    assert np.abs(_glare(picture) - want).max() < 0.005 * want.max()
