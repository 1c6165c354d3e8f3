"""Shows on the user's photograph, against renderings that the stage hasn't seen."""

import numpy as np
import pytest

from lumenmap.camera.stage.night import Model, night
from tests.camera.photos import paired, site_of


@pytest.mark.parametrize("house", ["kelder-studio", "6"])
def test_light_on_a_photograph_by_day_is_that_of_the_house_by_night(house, tmp_path):
    """``python -m tests.camera.photos`` shows more houses, larger: 0.02 to 0.05.

    The photograph: the house by day, through OpenCV's lens, with noise, as JPEG, its camera found
    from marks. The reference: a rendering by night, which the stage hasn't seen.
    """
    found, unlit = paired(site_of(house, tmp_path), 1, 480, 270).figures
    assert found < 0.05
    assert found < 0.4 * unlit


def test_a_sky_that_is_darker_further_up_is_no_noisier_by_night():
    """Between sky and house each pixel's own brightness decided: half of the sky was speckled."""
    rng = np.random.default_rng(1)
    sky = np.linspace(0.20, 0.45, 120)[:, None] + np.zeros(160)
    photo = np.vstack([sky, np.full((60, 160), 0.12)])[..., None] * np.ones(3)
    house = np.zeros((180, 160), bool)
    house[120:] = True
    model = Model(*(np.full((180, 160, 3), v, np.float32) for v in (0.01, 0.3)), house, ~house)
    noisy = photo * rng.normal(1, 0.03, photo.shape)
    dark = night(noisy.astype(np.float32), model).dark
    smooth = night(photo.astype(np.float32), model).dark
    assert np.std((dark / smooth)[:110], axis=(1, 2)).max() < 0.04


def test_by_night_a_house_is_as_dark_as_the_model_though_part_of_it_was_in_shade():
    """The middle of the photograph was the roof's, that of the model the wall's: thrice too bright."""
    roof, shade = np.zeros((100, 100), bool), np.zeros((100, 100), bool)
    roof[:45], shade[45:65] = True, True
    reflects = np.where(roof, 0.1, 0.3)[..., None] * np.ones(3)
    aim, photo = reflects / 50, reflects * np.where(shade, 0.25, 1.0)[..., None]
    every = np.ones((100, 100), bool)
    model = Model(aim.astype(np.float32), reflects.astype(np.float32), every, ~every)
    dark = night(photo.astype(np.float32), model).dark
    assert dark[~shade] == pytest.approx(aim[~shade], rel=0.05)
