"""The limiter: never over, hardly under, and no pumping."""

import numpy as np
import pytest

from lumenmap.core.errors import InputError
from lumenmap.power.limits.budgets import Budgets, budgets
from lumenmap.power.limits.limit import limit
from lumenmap.power.limits.limiter import Limiter, glide
from lumenmap.power.limits.options import LimitOptions
from lumenmap.power.limits.parts import Parts, in_parts


def one_supply(pixels, amps, channels=3):
    return Budgets(
        ("supply",),
        ("supply",),
        np.array([amps]),
        np.array([pixels * 0.0007]),
        Parts((in_parts(np.arange(pixels), np.ones(pixels)),), pixels),
        np.full(channels, 0.0185),
    )


def test_what_fits_is_the_nearest_codes(two_lines):
    held = budgets(*two_lines)
    light = np.random.default_rng(0).random((5, 80, 3)).astype(np.float32) * 0.2
    got = limit(light, held)
    assert (got.codes == np.rint(light * np.float32(255))).all()
    assert (got.gain == 1).all() and (got.amps == got.demand).all()


@pytest.mark.parametrize("share", [0.9, 0.5, 0.1, 0.04, 0.015])
@pytest.mark.parametrize("kind", ["random", "white", "dim", "one bright"])
def test_capped_frames_come_within_one_percent(share, kind):
    pixels = 300
    rng = np.random.default_rng(1)
    light = {
        "random": rng.random((6, pixels, 3)),
        "white": np.ones((6, pixels, 3)),
        "dim": np.full((6, pixels, 3), 0.3),
        "one bright": np.where(rng.random((6, pixels, 1)) < 0.5, 1.0, 0.2) * np.ones(3),
    }[kind].astype(np.float32)
    idle = pixels * 0.0007
    want = idle + share * (light.sum(axis=(1, 2)).min() * 0.0185)
    held = one_supply(pixels, float(want))
    got = limit(light, held)
    assert (got.amps <= held.amps).all()
    assert (got.amps >= 0.99 * held.amps).all()
    assert (held.amps_of(got.codes) == got.amps).all()


def test_padded_and_plain_light_give_the_same(two_lines):
    held = budgets(*two_lines)
    padded = np.random.default_rng(2).random((9, 80, 4)).astype(np.float32)
    view = padded[..., :3]
    before = padded.copy()
    assert (limit(view, held).codes == limit(view.copy(), held).codes).all()
    assert (padded == before).all()


@pytest.mark.parametrize("most", [1, 200, 350])
def test_large_houses_are_limited_a_few_frames_at_a_time_to_the_same_bytes(most, monkeypatch):
    held = one_supply(80, 1.0)
    light = np.random.default_rng(3).random((9, 80, 3)).astype(np.float32)
    light[2:5] *= 0.05  # some fit, some don't
    whole = limit(light, held)
    assert 0 < (whole.gain < 1).sum() < 9
    monkeypatch.setattr("lumenmap.power.limits.limit._AT_ONCE", most)
    parts = limit(light, held)
    for name in ("codes", "gain", "amps", "demand"):
        assert (getattr(parts, name) == getattr(whole, name)).all()


def test_light_outside_0_to_1_is_clipped(two_lines):
    held = budgets(*two_lines)
    light = np.array([[-3.0, 0.5, 7.0]] * 80, np.float32)[None]
    got = limit(light * np.float32(0.1), one_supply(80, 50.0))
    assert got.codes[0, 0].tolist() == [0, 13, 178]
    assert (limit(light, held).amps <= held.amps).all()


def test_one_frame_does_not_dim_another(two_lines):
    held = budgets(*two_lines)
    light = np.random.default_rng(3).random((12, 80, 3)).astype(np.float32)
    together = limit(light, held).codes
    for k in range(12):
        assert (limit(light[k : k + 1], held).codes == together[k : k + 1]).all()


def spike(frames=240, pixels=80):
    light = np.full((frames, pixels, 3), 0.25, np.float32)
    light[120:123] = 1
    return light


def plan(held, light, **options):
    limiter = Limiter(held, LimitOptions(**options), 30.0)
    return limiter.plan(limiter.demand(light))


def test_a_gliding_gain_falls_before_the_spike(two_lines):
    held = budgets(*two_lines)
    gains = plan(held, spike(), slew=0.5).gains[:, 0]
    change = np.diff(np.log2(gains)) * 30
    assert np.abs(change).max() <= 0.5 + 1e-9
    assert gains[110] < gains[90] < gains[60] and gains[120] < 0.6
    assert gains.max() > 1.5 * gains.min()


def test_gains_join_where_the_loop_does(two_lines):
    held = budgets(*two_lines)
    light = np.roll(spike(), -119, axis=0)  # the spike is at the very start
    gains = plan(held, light, slew=0.5).gains[:, 0]
    assert abs(np.log2(gains[0] / gains[-1])) * 30 <= 0.5 + 1e-9
    assert gains[-1] < gains[100]


def test_steady_is_one_gain_and_as_bright_as_the_spike_allows(two_lines):
    held = budgets(*two_lines)
    light = spike()
    got = plan(held, light, mode="steady").limit(light)
    assert np.ptp(got.gain) == 0
    assert (got.amps[121] / held.amps).max() > 0.99


def test_branches_by_themselves_spare_the_other(two_lines):
    held = budgets(*two_lines)
    light = np.full((3, 80, 3), 0.1, np.float32)
    light[:, 50:] = 1  # the second line wants too much
    plain = {"mode": "frame", "dither": False}
    alone = Limiter(held, LimitOptions(per="branch", **plain), 30.0).limit(light)
    whole = Limiter(held, LimitOptions(per="house", **plain), 30.0).limit(light)
    assert (alone.codes[:, :50] == 26).all()
    assert (whole.codes[:, :50] < 26).all()
    assert (alone.amps <= held.amps).all()


def test_branches_share_what_the_supply_has_left(two_lines):
    held = budgets(*two_lines)
    light = np.ones((2, 80, 3), np.float32)
    got = Limiter(held, LimitOptions("frame", "branch"), 30.0).limit(light)
    assert (got.amps <= held.amps).all()
    assert 0.99 * held.amps[0] <= got.amps[0, 0]


def test_blocks_do_not_matter(two_lines):
    held = budgets(*two_lines)
    light = np.random.default_rng(4).random((50, 80, 3)).astype(np.float32)
    for per in ("house", "branch"):
        limiter = plan(held, light, per=per, dither=True)
        whole = limiter.limit(light).codes
        parts = [limiter.limit(light[i : i + 7], i).codes for i in range(0, 50, 7)]
        assert (np.concatenate(parts) == whole).all()


def test_no_plan_is_made_where_white_fits(two_lines):
    held = budgets(*two_lines)
    assert Limiter(held, LimitOptions(), 30.0).needs_plan
    assert not Limiter(one_supply(80, 100.0), LimitOptions(), 30.0).needs_plan


def test_glide_is_the_highest_that_keeps_the_slew():
    """By brute force: the lowest of all gains, each with its ramps, round the loop."""
    rng = np.random.default_rng(6)
    gains = rng.uniform(0.05, 1, (40, 2))
    step = 0.07
    frames = np.arange(40)
    apart = np.abs(frames[:, None] - frames)
    apart = np.minimum(apart, 40 - apart)
    expected = np.exp2((np.log2(gains)[None] + step * apart[:, :, None]).min(axis=1))
    assert glide(gains, step) == pytest.approx(np.minimum(expected, gains), rel=1e-12)


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"mode": "glid"}, 'no limiter mode "glid"; did you mean "glide"'),
        ({"per": "room"}, 'no scope "room"'),
        ({"slew": 0.0}, "slew: is 0; expected 0.01 to 100"),
        ({"slew": float("nan")}, "slew: is nan"),
    ],
)
def test_options_that_are_none_are_refused(options, says):
    with pytest.raises(InputError, match=says):
        LimitOptions(**options)


def test_light_of_three_channels_is_limited_for_pixels_of_four():
    """White that red, green and blue share goes to the white die, as the renderer's does."""
    from lumenmap.codes.white import split_white

    held = one_supply(20, 0.4, channels=4)
    light = np.random.default_rng(1).random((5, 20, 3), np.float32)
    got, want = limit(light, held), limit(split_white(light), held)
    assert got.codes.shape == (5, 20, 4) and (got.codes == want.codes).all()
    with pytest.raises(ValueError, match=r"\(5, 20, 2\); expected \(frames, pixels, 3 or 4\)"):
        limit(light[..., :2], held)
