"""The preview draws the house, adds light linearly, and knows bad sizes."""

import numpy as np
import pytest

from lumenmap.core.errors import InputError
from lumenmap.pictures.drawn.preview import Preview
from lumenmap.pictures.scene.look import Look
from lumenmap.site import Site


@pytest.fixture(scope="module")
def preview(house, pixelmap):
    return Preview(Site(house, pixelmap), width=320, height=180)


def test_frames_have_the_asked_shape_and_depend_on_the_light(preview, pixelmap):
    light = np.zeros((11, len(pixelmap), 3), np.float32)
    light[5:] = 1
    frames = preview.frames(light)
    assert frames.shape == (11, 180, 320, 3)
    assert frames.dtype == np.uint8
    assert (frames[0] == frames[4]).all()
    assert frames[5].mean() > 1.2 * frames[4].mean()


def test_a_frame_does_not_depend_on_its_neighbours(preview, pixelmap):
    light = np.random.default_rng(3).random((5, len(pixelmap), 3)).astype(np.float32)
    together = preview.frames(light)
    for alone, frame in zip(light, together, strict=True):
        assert np.abs(preview.still(alone).astype(int) - frame).max() <= 1


def test_a_red_lamp_reddens_and_never_darkens(preview, pixelmap):
    light = np.zeros((2, len(pixelmap), 3), np.float32)
    light[1, :, 0] = 1
    dark, red = preview.frames(light).astype(int)
    assert (red >= dark).all()
    assert (red - dark)[..., 0].sum() > 50 * max(1, (red - dark)[..., 1:].sum())


@pytest.mark.parametrize("size", [(0, 360), (640, 0), (100_000, 360)])
def test_a_size_that_no_picture_has_is_refused(house, pixelmap, size):
    with pytest.raises(InputError, match=r"a picture of \d+ × \d+ pixels; expected 16 to"):
        Preview(Site(house, pixelmap), width=size[0], height=size[1])


def test_by_day_no_lamp_is_seen_shining(house, pixelmap):
    day = Preview(Site(house, pixelmap), width=160, height=90, look=Look(time="day"))
    full = np.ones((len(pixelmap), 3), np.float32)
    assert (day.still(full) == day.still(0 * full)).all()
