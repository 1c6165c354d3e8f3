"""Strings whose current a resistor sets: what the report says of them when their volts sag.

The figures are Ohm's law on a chain of LEDs, each a fixed drop: R = (V - n·Vf) / I, the handbook
rule for an LED and its resistor; red 2.0 V, green and blue 3.2 V [P: WS2812B datasheet text].
"""

import re
from dataclasses import replace

import pytest

from lumenmap.parts.series import RED_VOLTS, current_fraction, series_resistor
from lumenmap.power.circuit.circuit import Circuit
from lumenmap.power.circuit.network import Network
from lumenmap.power.report.report import power_report
from lumenmap.site import Site


def chain_amps(volts, leds, forward, ohms):
    """A of LEDs and a resistor in series, each LED a source that stands against the current."""
    c = Circuit()
    plus, minus = c.source(volts - leds * forward)
    number = c.resistor(plus, minus, ohms)
    net = Network(c)
    return float(net.flow(net.unloaded[None], [number])[0, 0])


@pytest.mark.parametrize(
    ("volts", "leds", "forward", "milliamps", "ohms"),
    [
        (12, 3, 2.0, 18.5, 324.3),  # [K]: 6 V over 18.5 mA
        (12, 3, 3.2, 18.5, 129.7),  # [K]: 2.4 V over 18.5 mA
        (12, 3, 2.0, 20.0, 300.0),  # [K]
        (5, 1, 2.0, 20.0, 150.0),  # [K]
    ],
)
def test_the_resistor_gives_its_current_and_loses_it_as_the_circuit_does(
    volts, leds, forward, milliamps, ohms
):
    assert series_resistor(volts, leds, forward, milliamps) == pytest.approx(ohms, abs=0.05)
    for sagged in (volts, 0.95 * volts, 0.85 * volts):
        amps = chain_amps(sagged, leds, forward, series_resistor(volts, leds, forward, milliamps))
        left = current_fraction(sagged, volts, leds, forward)
        assert left == pytest.approx(1000 * amps / milliamps, abs=1e-9)


def test_below_the_chain_there_is_no_current_and_above_the_nominal_no_more_than_full():
    assert current_fraction(5.9, 12, 3, RED_VOLTS) == 0
    assert current_fraction(12.6, 12, 3, RED_VOLTS) == 1


def resistor_findings(house, pixelmap):
    report = power_report(Site(house, pixelmap))
    return [str(f) for f in report.findings if f.code == "resistor-pixels"], float(
        report.white.volts.min()
    )


@pytest.fixture
def sagging(small_map, small_house):
    """A line of 12 V pixels whose far end has some 11 V at full white."""
    pixelmap = small_map((100,), spacing=0.1)
    return small_house(
        pixelmap, [("s", 12.0, 10.0)], [("f", "s", "line-0", "start", "14 AWG", 3.0, 7.5)]
    ), pixelmap


def test_the_report_says_what_red_keeps_at_the_lowest_volts(sagging):
    (finding,), lowest = resistor_findings(*sagging)
    assert 10 < lowest < 0.97 * 12
    ohms, left, volts = re.search(
        r"(\d+) ohm for three red LEDs\), red keeps only (\d+) % .* lowest ([\d.]+) V", finding
    ).groups()
    amps = chain_amps(lowest, 3, 2.0, float(ohms))
    assert float(volts) == pytest.approx(lowest, abs=0.005)
    assert float(left) / 100 == pytest.approx(amps / 0.0185, abs=0.006)
    # Green and blue have the larger part of the volts in LEDs, so they lose more: 3.2 V each.
    blue = chain_amps(lowest, 3, 3.2, series_resistor(12, 3, 3.2, 18.5)) / 0.0185
    assert blue < float(left) / 100 and "green and blue keep less" in finding


def test_the_ohms_follow_the_current_that_was_measured(sagging, small_map):
    house, _ = sagging
    pixelmap = small_map((100,), spacing=0.1, channel_ma=(15.0, 15.0, 15.0))
    (finding,), _ = resistor_findings(replace(house, kind=pixelmap.kind), pixelmap)
    assert "(400 ohm for three red LEDs)" in finding  # 6 V over 15 mA [K]


def test_nothing_is_said_where_volts_hardly_sag(sagging):
    house, pixelmap = sagging
    near = replace(
        house,
        feeds=(
            *house.feeds,
            replace(house.feeds[0], name="g", at="middle"),
            replace(house.feeds[0], name="h", at="end"),
        ),
    )
    finding, lowest = resistor_findings(near, pixelmap)
    assert lowest > 0.97 * 12 and not finding


def test_nothing_is_said_of_pixels_for_5_volts(small_map, small_house):
    pixelmap = small_map((60,), kind="ws2812b", spacing=0.1)
    house = small_house(
        pixelmap, [("s", 5.0, 10.0)], [("f", "s", "line-0", "start", "14 AWG", 3.0, 5.0)]
    )
    finding, lowest = resistor_findings(house, pixelmap)
    assert lowest < 0.97 * 5 and not finding
