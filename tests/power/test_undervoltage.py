"""Pixels short of volts: laws that the steady state must obey."""

import numpy as np
import pytest
from scipy.optimize import root

from lumenmap.parts.kinds import pixel_kind
from lumenmap.power.circuit.undervoltage import channel_fraction_at, solve_steady_state

KIND = pixel_kind("ws2812b")


def test_with_volts_enough_it_is_the_linear_solve(string):
    network = string(30, 0.2, volts=5.0)
    rng = np.random.default_rng(0)
    codes = rng.integers(0, 256, (6, 30, 3), np.uint8)
    state = solve_steady_state(network, codes, KIND)
    amps = codes @ np.array(KIND.channel_ma) / 255e3 + KIND.idle_ma / 1e3
    assert np.abs(state.amps - amps).max() < 1e-12 and (state.channel_fraction == 1).all()
    assert np.abs(state.volts - network.solve(amps)).max() < 1e-12


@pytest.mark.parametrize("ohms", [0.5, 3.0, 20.0])
def test_currents_balance_at_every_node_when_undervoltage(ohms, string):
    network = string(60, ohms)
    rng = np.random.default_rng(1)
    codes = rng.integers(0, 256, (8, 60, 3), np.uint8)
    codes[0] = 255
    state = solve_steady_state(network, codes, KIND)
    # What each pixel draws is what its volts allow…
    lit = channel_fraction_at(state.at_pixels, KIND)
    idle = np.clip(state.at_pixels / min(KIND.off_volts), 0, 1) * KIND.idle_ma
    expected = ((lit * codes / 255) @ np.array(KIND.channel_ma) + idle) / 1000
    assert np.abs(state.amps - expected).max() < 1e-9
    # …and the linear network with those currents gives those volts.
    assert np.abs(network.at_loads(network.solve(state.amps)) - state.at_pixels).max() < 1e-6


def test_the_steady_state_is_the_one_another_solver_finds(string):
    """scipy.optimize.root on the node equations is the outside check."""
    network = string(12, 6.0)
    codes = np.full((1, 12, 3), 255, np.uint8)
    state = solve_steady_state(network, codes, KIND)

    def miss(volts):
        across = network.at_loads(network.solve(amps_at(volts)[None]))[0]
        return across - volts

    def amps_at(volts):
        lit = channel_fraction_at(volts, KIND)
        idle = np.clip(volts / min(KIND.off_volts), 0, 1) * KIND.idle_ma
        return (lit @ np.array(KIND.channel_ma) + idle) / 1000

    found = root(miss, state.at_pixels[0] + 0.05, method="krylov", options={"fatol": 1e-9})
    assert found.success and np.abs(found.x - state.at_pixels[0]).max() < 1e-6


def test_blue_and_green_fade_before_red_and_further_is_dimmer(string):
    state = solve_steady_state(string(100, 3.0), np.full((1, 100, 3), 255, np.uint8), KIND)
    lit = state.channel_fraction[0]
    assert (lit[:, 0] >= lit[:, 1]).all() and (lit[:, 1] == lit[:, 2]).all()
    assert lit[-1, 0] > 2 * lit[-1, 1]
    assert (np.diff(state.at_pixels[0]) <= 1e-9).all()


def test_less_asked_leaves_more_volts(string):
    network = string(80, 3.0)
    codes = np.array([np.full((80, 3), v, np.uint8) for v in (255, 128, 32, 0)])
    lowest = solve_steady_state(network, codes, KIND).at_pixels.min(axis=1)
    assert (np.diff(lowest) > 0).all()


def test_white_die_of_four_channels_starves_with_blue():
    kind = pixel_kind("sk6812-rgbw")
    lit = channel_fraction_at(np.linspace(1, 5, 50), kind)
    assert (lit[:, 3] == lit[:, 2]).all() and (np.diff(lit, axis=0) >= 0).all()
    assert (channel_fraction_at(np.array([kind.min_volts]), kind) == 1).all()


def test_frames_do_not_depend_on_their_company(string):
    network = string(40, 4.0)
    rng = np.random.default_rng(2)
    codes = rng.integers(0, 256, (150, 40, 3), np.uint8)
    together = solve_steady_state(network, codes, KIND).at_pixels
    alone = solve_steady_state(network, codes[140:141], KIND).at_pixels
    assert np.abs(together[140] - alone[0]).max() < 1e-7
