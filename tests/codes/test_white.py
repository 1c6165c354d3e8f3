"""White split off and joined again is the same light."""

import numpy as np

from lumenmap.codes.white import join_white, split_white


def test_split_then_joined_is_the_same_light():
    light = np.random.default_rng(1).random((3, 5, 3)).astype(np.float32)
    split = split_white(light)
    assert split.shape == (3, 5, 4)
    assert (split.min(axis=2) >= 0).all() and (split[..., :3].min(axis=2) == 0).all()
    np.testing.assert_allclose(join_white(split), light, atol=1e-7)


def test_three_channels_pass_as_they_are():
    light = np.ones((1, 2, 3), np.float32)
    assert join_white(light) is light
