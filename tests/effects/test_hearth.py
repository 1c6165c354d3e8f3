"""The flicker of flame as it is measured: 1/f in time, together in space, rising."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.signal import welch

from lumenmap.colour.palette import Palette
from lumenmap.motion.at import At
from lumenmap.show.effects.registry import effects

WHITE = Palette("white", ["white"])
FPS = 40.0
HEARTH = effects()["hearth"]


def places(x, z) -> At:
    xyz = np.stack(np.broadcast_arrays(np.asarray(x, float), 0.0, np.asarray(z, float)), -1)
    n = len(xyz)
    full = np.full(n, 10.0)
    low, high = np.zeros(3), np.array([10.0, 0.0, 6.0])
    return At(xyz, xyz[:, 0], xyz[:, 0], full, np.tile([0.0, -1, 0], (n, 1)), full, low, high, {})


def flicker(at: At, seconds: float, **given) -> np.ndarray:
    """(T, N) what the light is multiplied by, as logarithm: its mean taken off at each place."""
    t = np.arange(0, seconds, 1 / FPS)[:, None]
    level = HEARTH.function(at, t, WHITE, **{**HEARTH.read({}), "least": 0.3, **given})[..., 0]
    noise = np.log(level)
    return noise - noise.mean(0)


def test_its_power_falls_as_one_over_f():
    """Slope -1 in log-log, from 1/slowest over two octaves: what flames are known for [M]."""
    power = 0.0
    for seed in range(4):
        f, p = welch(
            flicker(places(np.arange(12) * 0.9, 3.0), 300, seed=seed), FPS, nperseg=4096, axis=0
        )
        power = power + p.mean(1)
    band = (f > 1 / 8) & (f < 0.5)
    assert np.polyfit(np.log(f[band]), np.log(power[band]), 1)[0] == pytest.approx(-1, abs=0.25)


def test_neighbours_flicker_together_and_far_ones_apart():
    noise = flicker(places([1.0, 1.08, 8.0], 3.0), 200)
    together = np.corrcoef(noise.T)
    assert together[0, 1] > 0.9
    assert abs(together[0, 2]) < 0.3


def test_heat_rises():
    """What is seen low is seen 1.5 m above it, 1.5 m / (1 m/s) later."""
    low, high = flicker(places([4.0, 4.0], [1.0, 2.5]), 100, speed=1.0).T
    late = round(1.5 * FPS)
    assert np.corrcoef(low[:-late], high[late:])[0, 1] > 0.98
    assert np.corrcoef(low, high)[0, 1] < 0.5


def test_tips_are_dimmer_than_feet():
    at = places([4.0, 4.0], [0.0, 6.0])
    t = np.arange(0, 60, 1 / FPS)[:, None]
    foot, tip = HEARTH.function(replace(at), t, WHITE, **HEARTH.read({})).mean(axis=(0, 2))
    assert foot > 1.15 * tip


@pytest.mark.parametrize("slowest", [0.5, 1.0, 8.0])
def test_little_of_its_change_is_quicker_than_three_a_second(slowest):
    """Whatever the slowest change is: what flickers faster can trigger seizures (WCAG 2.2 [P])."""
    noise = flicker(places(np.arange(8) * 1.7, 3.0), 120, slowest=slowest)
    f, p = welch(noise, FPS, nperseg=1024, axis=0)
    assert p[f > 3].sum() < 0.1 * p[f > 0].sum()
