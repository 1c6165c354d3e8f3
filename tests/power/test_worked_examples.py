"""Handbook examples that the other tests leave out: wire, fuses, pixels, volt drop, flashes.

Each is recomputed from published figures [K]; their source is named next to it.
"""

import math

import numpy as np
import pytest

from lumenmap.codes.flashing import FlashCounter
from lumenmap.codes.transitions import chromaticity
from lumenmap.parts.ampacity import ampacity
from lumenmap.parts.fuses import BLADES, CONTINUOUS, class_2_amps, continuous_load, fuse_for
from lumenmap.parts.kinds import PIXEL_KINDS
from lumenmap.parts.series import RED_VOLTS, current_fraction, series_resistor
from lumenmap.parts.wires import ALPHA_20, RHO_20, awg_area, awg_diameter, wire

FOOT = 0.3048


def drop(network, amps, volts=5.0):
    loads = len(network.plus)
    return volts - network.at_loads(network.solve(np.full((1, loads), amps))).min()


def test_the_law_of_gauges():
    """ASTM B258 [P]: 3 sizes are 2.005 times the copper, 6 sizes 2.005 times the diameter."""
    for gauge in range(10, 25):
        assert awg_area(gauge - 3) / awg_area(gauge) == pytest.approx(2.005, abs=5e-4)
        assert awg_diameter(gauge - 6) / awg_diameter(gauge) == pytest.approx(2.005, abs=5e-4)


def test_one_gauge_worked_through():
    """16 AWG: 0.005 x 92^(20/39) = 0.05082 in; 1.309 mm2; 13.17 ohm/km = 4.016 ohm/kft."""
    assert awg_diameter(16) / 25.4 == pytest.approx(0.05082, abs=5e-6)
    assert wire("16 AWG").area == pytest.approx(1.309, abs=5e-4)
    assert wire("16 AWG").ohms(1000) == pytest.approx(13.17, abs=5e-3)
    assert wire("16 AWG").ohms(1000 * FOOT) == pytest.approx(4.016, rel=2e-4)
    # 17.241 ohm mm2/km is 10.371 ohm circular mil/ft.
    assert RHO_20 / 1000 * FOOT / (math.pi / 4 * 0.0254**2) == pytest.approx(10.371, abs=5e-4)


def test_copper_at_75_c():
    """20 to 75 C is x 1.21615; table 8's own law has 0.00323 at 75 C [M]; 18 AWG 7.765, its 7.77."""
    assert pytest.approx(1.21615) == 1 + ALPHA_20 * 55
    assert pytest.approx(0.00323, abs=5e-6) == ALPHA_20 / 1.21615
    hot = {18: 7.765, 20: 12.35, 22: 19.63, 24: 31.22}
    for gauge, ohms in hot.items():
        assert wire(f"{gauge} AWG").ohms(1000 * FOOT, 75) == pytest.approx(ohms, rel=1e-3)
    assert wire("18 AWG").ohms(1000 * FOOT, 75) == pytest.approx(7.77, abs=0.01)  # NEC [P]


@pytest.mark.parametrize(
    ("size", "ohms"),
    [("0.5", 11.89), ("0.75", 7.925), ("1.0", 5.944), ("1.5", 4.054), ("2.5", 2.432)],
)
def test_iec_sizes_in_ohm_a_thousand_feet(size, ohms):
    """IEC 60228 class 5 plain [P], in ohm/kft [K]."""
    assert wire(f"{size} mm2").ohms(1000 * FOOT) == pytest.approx(ohms, rel=3e-4)


def test_fifty_pixels_want_four_amps_and_a_hundred_thicker_wire():
    """60 mA a pixel [P]: 3.0 A x 1.25 = 3.75: 4 A, pink, else 5 A, tan; 6 A x 1.25 = 7.5 A, brown."""
    assert pytest.approx(3.75) == 50 * 0.060 * CONTINUOUS
    assert fuse_for(3.0) == 4 and BLADES[4] == "pink" and BLADES[5] == "tan"
    assert continuous_load(5) >= 3.0 and ampacity(wire("18 AWG")) == 6
    assert fuse_for(6.0) == 7.5 and BLADES[7.5] == "brown"
    assert ampacity(wire("18 AWG")) < 7.5 <= ampacity(wire("16 AWG")) == 8


@pytest.mark.parametrize(("volts", "watts", "amps"), [(5, 25, 5), (12, 60, 5), (24, 100, 4.17)])
def test_class_2_of_the_usual_supplies(volts, watts, amps):
    """NEC chapter 9 table 11: 5 VA a volt to 20 V, 100 VA from there to 30 V [P; d.c. table M]."""
    assert class_2_amps(volts) == pytest.approx(amps, abs=0.005)
    assert class_2_amps(volts) * volts == pytest.approx(watts)


def test_the_resistor_of_a_red_chain_at_12_v():
    """WS2811 [P]: (12 - 3 x 2.0) / 18.5 mA = 324 ohm; at 9 V half of that current is left."""
    kind = PIXEL_KINDS["ws2811-12v"]
    ohms = series_resistor(kind.volts, 3, RED_VOLTS, kind.channel_ma[0])
    assert ohms == pytest.approx(324, abs=0.5)
    left = current_fraction(9.0, 12.0, 3, RED_VOLTS)
    assert left == pytest.approx(0.5) == (9.0 - 6.0) / ohms / 0.0185
    assert (
        current_fraction(5.0, 12.0, 3, RED_VOLTS) == 0
        and current_fraction(13, 12, 3, RED_VOLTS) == 1
    )


def test_light_of_a_strips_dies():
    """WS2813A: 480 + 1500 + 320 mcd are its listed white, in shares .209, .652, .139 [P, K]."""
    mcd = np.array(PIXEL_KINDS["ws2811-12v"].intensity)
    assert mcd.sum() == 2300
    assert mcd / mcd.sum() == pytest.approx([0.209, 0.652, 0.139], abs=5e-4)


def test_fifty_pixels_in_ten_feet(string):
    """16 AWG: lumped .241 V, one end .1205 V or 2.4 % of 5 V; at 75 C .1497, .1527 and .0374."""
    loop = 2 * wire("16 AWG").ohms(10 * FOOT)
    assert 3.0 * loop == pytest.approx(0.241, abs=5e-4)
    assert drop(string(50, loop), 0.06) / 5 == pytest.approx(0.024, abs=5e-4)
    hot = 2 * 10 * 4.99 / 1000  # NEC chapter 9 table 8, 16 AWG stranded [P]
    assert hot == pytest.approx(0.0998)
    assert drop(string(50, hot), 0.06) == pytest.approx(0.1497, abs=5e-5)
    assert drop(string(50, hot, first=1), 0.06) == pytest.approx(0.1527, abs=5e-5)
    assert drop(string(50, hot, feeds=("start", "end")), 0.06) == pytest.approx(0.0374, abs=5e-5)


def test_a_hundred_pixels_in_twenty_feet(string):
    """18 AWG: .2554 ohm; one end .766 V, 15.3 % of 5 V and 6.4 % of 12 V; both ends .192 V."""
    loop = 2 * wire("18 AWG").ohms(20 * FOOT)
    assert loop == pytest.approx(0.2554, abs=5e-5)
    fed = drop(string(100, loop), 0.06)
    assert (fed / 5, fed / 12) == pytest.approx((0.153, 0.064), abs=5e-4)
    assert drop(string(100, loop, feeds=("start", "end")), 0.06) == pytest.approx(0.192, abs=5e-4)


def test_fed_in_the_middle_and_at_three_points(string):
    """Centre fed I R / 8 [K]; M = 2 spans I R / 32: .0075 V for 50 pixels on 10 ft of 16 AWG."""
    loop = 2 * wire("16 AWG").ohms(10 * FOOT)
    fine = 2001  # the continuous forms are limits
    amps = 3.0 / fine
    middle = string(fine, loop, feeds=(fine // 2,), first=1e-6)
    assert drop(middle, amps) == pytest.approx(3.0 * loop / 8, rel=2e-3)
    spans = string(fine, loop, feeds=("start", fine // 2, "end"), first=1e-6)
    assert drop(spans, amps) == pytest.approx(0.0075, abs=5e-5)


def test_heat_in_a_string_fed_at_one_end(string):
    """I2 R / 3 in the limit of many pixels [K]."""
    fine, loop = 2000, 0.08
    network = string(fine, loop)
    volts = network.solve(np.full((1, fine), 3.0 / fine))
    flow = network.flow(volts, np.arange(len(network.siemens)))
    assert float((flow**2 / network.siemens).sum()) == pytest.approx(9 * loop / 3, rel=2e-3)


def test_white_and_black_every_four_and_every_five_frames():
    """30 fps: 7.5 transitions a second, up to 8 in a window, flagged; 6 are 3 flashes: not."""
    for every, most in ((4, 8), (5, None)):
        light = (np.arange(240) // every % 2).astype(float)
        seen = FlashCounter(30.0, {"house": np.arange(4)})
        seen.add(np.broadcast_to(light[:, None, None], (240, 4, 3)))
        found = [f.transitions for f in seen.findings() if f.kind == "general"]
        assert found == ([most] if most else [])


def test_orange_is_red_in_light_and_not_in_codes():
    """sRGB (255, 128, 0): R / (R + G + B) is .82 in linear light, .67 of the coded values."""
    coded = np.array([1.0, 128 / 255, 0.0])
    linear = np.where(coded <= 0.04045, coded / 12.92, ((coded + 0.055) / 1.055) ** 2.4)
    assert linear[0] / linear.sum() == pytest.approx(0.82, abs=5e-3)
    assert coded[0] / coded.sum() == pytest.approx(0.67, abs=5e-3)
    assert [bool(chromaticity(c)[2]) for c in (linear, coded)] == [True, False]
