"""Budgets as sums of codes, against the budgets themselves."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lumenmap.house.reading.load import load_house
from lumenmap.pixels.build import map_pixels
from lumenmap.power.limits.budgets import budgets
from lumenmap.power.limits.caps import caps, channel_weights
from lumenmap.power.limits.limit import limit


def sums(made, codes, pixelmap):
    """The sums, added up here from the table alone; codes (N, C) in canonical order."""
    share = np.concatenate([np.tile(z["share"], (z["pixels"], 1)) for z in made["zones"]])
    total = np.zeros(len(made["limits"]), object)
    for span, weights in zip(pixelmap.lines, made["weights"], strict=True):
        for i in range(span.first, span.first + span.count):
            counted = sum(
                w * int(codes[i, "RGBW".index(c)]) for w, c in zip(weights, span.order, strict=True)
            )
            total += counted * share[i].astype(object)
    return total


@pytest.mark.parametrize("house", ["alder-cottage", "kelder-studio", "marlow-bend"])
def test_a_sum_within_its_cap_is_a_current_within_its_budget(examples, house):
    """And what the limiter lets pass is within the caps: neither is stricter than the other."""
    home = load_house(examples / house / "house.toml")
    pixelmap = map_pixels(home)
    all_budgets = budgets(home, pixelmap)
    made = caps(all_budgets, pixelmap)
    rng = np.random.default_rng(4)
    for bright in (0.2, 0.6, 1.0, 3.0):
        light = (bright * rng.random((1, len(pixelmap), 3))).astype(np.float32)
        done = limit(light, all_budgets)
        assert (sums(made, done.codes[0], pixelmap) <= made["limits"]).all()
    full = np.full((1, len(pixelmap), 3), 255, np.uint8)
    over = all_budgets.amps_of(full)[0] > all_budgets.amps
    assert (sums(made, full[0], pixelmap) > made["limits"]).any() == over.any()
    for k, (name, most) in enumerate(zip(made["names"], made["limits"], strict=True)):
        total = int(sums(made, full[0], pixelmap)[k])
        level = most / total  # all pixels at the level at which the cap is just full
        i = [j for j, n in enumerate(all_budgets.names) if n == name]
        room = all_budgets.amps[i] - all_budgets.idle[i]
        drawn = all_budgets.amps_of(full)[0][i] - all_budgets.idle[i]
        assert np.isclose(drawn * level, room, rtol=1e-6).any(), name


@settings(max_examples=200)
@given(st.lists(st.floats(0.0002, 2.0), min_size=3, max_size=4))
def test_weights_are_never_below_the_true_currents(amps):
    weights, unit = channel_weights(np.array(amps))
    given_ = np.array(weights) * unit
    assert (given_ >= np.array(amps) * (1 - 1e-11)).all()
    assert (given_ <= np.array(amps) + max(amps) / 65000).all()
    assert max(weights) <= 65535 and min(weights) >= 0


def test_currents_in_simple_proportion_come_out_exactly():
    assert channel_weights(np.array([0.0185] * 3))[0] == [1, 1, 1]
    assert channel_weights(np.array([0.02, 0.01, 0.015]))[0] == [4, 2, 3]
