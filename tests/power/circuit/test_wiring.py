"""The circuit of a house: what each resistor holds, and loads that sit on a supply's terminals."""

from dataclasses import replace

import numpy as np
import pytest

from lumenmap.power.circuit.assembly import build_wiring
from lumenmap.power.circuit.circuit import Circuit
from lumenmap.power.circuit.network import Network

#: 14 AWG, ohm/m at 20 °C: computed from ASTM B258 and 17.241 ohm mm²/km [K].
AWG_14 = 8.285e-3


def feed_ohms(house, pixelmap, name, **defaults):
    """The resistance of a feed's two conductors, with other defaults for the house's wires."""
    house = replace(house, wire_defaults=replace(house.wire_defaults, **defaults))
    wired = build_wiring(house, pixelmap)
    numbers = [wired.of("feed", name, side)[0].resistor for side in ("positive", "return")]
    return 1 / wired.network.siemens[numbers]


def test_a_fuses_contacts_stand_in_the_positive(two_lines):
    """4 m of 14 AWG each way, and the contact resistance of a fuse in one of them."""
    positive, back = feed_ohms(*two_lines, "a", contact_ohms=0.02)
    assert back == pytest.approx(4 * AWG_14, rel=1e-3)
    assert positive - back == pytest.approx(0.02)


def test_a_feed_without_a_fuse_has_no_contacts(two_lines):
    house, pixelmap = two_lines
    bare = replace(house, feeds=tuple(replace(f, fuse=None) for f in house.feeds))
    positive, back = feed_ohms(bare, pixelmap, "a", contact_ohms=0.02)
    assert positive == back


def test_a_warm_feed_resists_more(two_lines):
    """Copper gains 0.393 % of its 20 °C resistance a degree [P: NBS Handbook 100]."""
    cold = feed_ohms(*two_lines, "a", celsius=20.0)
    hot = feed_ohms(*two_lines, "a", celsius=60.0)
    assert hot / cold == pytest.approx(1 + 0.00393 * 40)


def test_a_load_at_the_supplys_terminals_has_all_its_volts():
    """And its current drops nothing in wires that it doesn't use."""
    c = Circuit()
    plus, minus = c.source(12.0)
    p, q = c.node(), c.node()
    c.resistor(plus, p, 0.5)
    c.resistor(q, minus, 0.25)
    c.load(p, q)
    c.load(plus, minus)
    network = Network(c)
    for volts in (
        network.at_loads(network.solve(np.array([[2.0, 7.0]]))),
        network.load_volts(np.array([[2.0, 7.0]])),
    ):
        assert volts[0] == pytest.approx([12 - 2 * 0.75, 12])


def test_loads_that_share_a_node_add_up():
    """Two loads at one place draw as one of their sum: V = 5 - (1 + 2) × 0.3 [K: Ohm's law]."""
    c = Circuit()
    plus, minus = c.source(5.0)
    p, q = c.node(), c.node()
    c.resistor(plus, p, 0.1)
    c.resistor(q, minus, 0.2)
    c.load(p, q)
    c.load(p, q)
    network = Network(c)
    volts = network.at_loads(network.solve(np.array([[1.0, 2.0], [0.0, 0.0]])))
    assert volts == pytest.approx(np.array([[4.1, 4.1], [5.0, 5.0]]))
