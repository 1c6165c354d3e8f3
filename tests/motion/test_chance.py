"""Chance and noise: even, independent, the same everywhere; 1/f where it says so."""

import numpy as np
import pytest
from scipy import stats

from lumenmap.motion import chance, noise
from lumenmap.motion.at import At


def places(n: int, spacing: float = 0.0762) -> At:
    x = np.arange(n) * spacing
    xyz = np.stack([x, np.zeros(n), np.full(n, 3.0)], -1)
    full = np.full(n, n * spacing)
    return At(xyz, x, x, full, np.tile([0.0, -1, 0], (n, 1)), full, xyz.min(0), xyz.max(0), {})


def test_known_numbers_stay_known():
    """SplitMix64 from state 1234567: the first outputs that its authors' C code prints."""
    state = np.array([1234567], np.uint64)
    want = [6457827717110365317, 3203168211198807973, 9817491932198370423]
    for value in want:
        assert int(chance._mix(state)[0]) == value
        state = state + np.uint64(0x9E3779B97F4A7C15)


def test_shares_are_even_over_places_seeds_and_times():
    at = places(400)
    for keys in (
        chance.key(3, chance.place(at.xyz)),
        chance.key(np.arange(400), 5),
        chance.key(7, chance.place(at.xyz)[:, None], np.arange(30)).ravel(),
    ):
        assert stats.kstest(chance.share(keys), "uniform").pvalue > 1e-3


def test_neighbours_and_following_cells_are_independent():
    grid = chance.share(chance.key(1, np.arange(300)[:, None], np.arange(300)))
    for a, b in ((grid[1:], grid[:-1]), (grid[:, 1:], grid[:, :-1])):
        assert abs(np.corrcoef(a.ravel(), b.ravel())[0, 1]) < 0.015


def test_waits_are_exponential():
    assert stats.kstest(chance.wait(chance.key(np.arange(5000))), "expon").pvalue > 1e-3


@pytest.mark.parametrize(
    "make",
    [
        lambda at, t: noise.field(at, t, 0.5, 0.7, 3),
        lambda at, t: noise.in_time(chance.place(at.xyz), t, 0.7),
        lambda at, t: noise.flow(at.xyz[:, 0] / 0.5 - t, t + 0 * at.xyz[:, 0], 3),
    ],
)
def test_noise_is_smooth_and_centred(make):
    t = np.arange(0, 60, 1 / 40)[:, None]
    got = make(places(200, 0.05), t)
    assert got.min() >= 0
    assert got.max() <= 1
    assert got.mean() == pytest.approx(0.5, abs=0.04)
    assert np.abs(np.diff(got, axis=0)).max() < 0.12


def test_flame_noise_falls_as_one_over_f():
    """Power against frequency in log-log: a slope of -1 over the band that is stated."""
    from scipy.signal import welch

    fps, slowest, octaves = 40.0, 4.0, 8
    across = places(40, 1.1).xyz[:, 0]
    t = np.arange(0, 400, 1 / fps)[:, None] + 0 * across
    power = 0.0
    for seed in range(3):
        series = noise.pink(across, t, 0.4, slowest, octaves, seed * 100_003)
        assert series.mean() == pytest.approx(0, abs=0.1)
        assert series.std() == pytest.approx(1, abs=0.15)
        f, p = welch(series, fps, nperseg=4096, axis=0)
        power = power + p.mean(1)
    band = (f > 1 / slowest) & (f < 2**octaves / slowest / 16)
    slope = np.polyfit(np.log(f[band]), np.log(power[band]), 1)[0]
    assert slope == pytest.approx(-1, abs=0.15)
