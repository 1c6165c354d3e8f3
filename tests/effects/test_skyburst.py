"""Bursts are seen on the house: everywhere in time, bright, on deep houses too."""

from dataclasses import replace

import numpy as np
import pytest

from lumenmap.colour.palette import Palette
from lumenmap.show.effects.registry import effects
from tests.effects.test_contract import gable

SKYBURST = effects()["skyburst"]


@pytest.mark.parametrize("depth", [0.0, 3.0, 15.0])
def test_no_second_is_dark_and_hardly_a_pixel_is_missed(depth):
    at = gable()
    xyz = at.xyz.copy()
    xyz[:, 1] = np.linspace(0, depth, len(xyz))
    at = replace(at, xyz=xyz, low=xyz.min(0), high=xyz.max(0))
    t = np.arange(0, 60, 1 / 30)[:, None]
    palette = Palette("two", ["white", "gold"])
    light = SKYBURST.function(at, t, palette, **SKYBURST.read({})).max(-1)
    seconds = light.reshape(60, 30, -1)
    assert (seconds.max(axis=(1, 2)) > 0.6).all()
    assert (seconds.mean(axis=(1, 2)) > 0.08).all()
    assert (light.max(0) > 0.3).mean() > 0.95
