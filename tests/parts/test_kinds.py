"""Pixel kinds: timing against worked figures, and figures that make no sense refused."""

import math

import pytest

from lumenmap.core.errors import InputError
from lumenmap.parts.kinds import PIXEL_KINDS, pixel_kind


def test_pixels_a_line_can_refresh(table):
    """From the bit rate and reset of the data sheets [K]."""
    for row in table("refresh"):
        for reset in ("50", "80", "280", "300"):
            kind = pixel_kind("ws2811-5v", reset_us=float(reset))
            most, fps = int(row[reset]), float(row["fps"])
            assert kind.max_fps(most) >= fps - 1e-9, (row, reset)
            assert kind.max_fps(most + 1) < fps, (row, reset)


def test_worked_frames():
    """[K]: 50 pixels take 1550 us; 512 with 300 us reset 63.86 fps; at 30 fps RGBW 825, 400 kb/s 554."""
    early = pixel_kind("ws2812b", reset_us=50.0)
    assert 50 * early.pixel_us + early.reset_us == 1550
    assert pixel_kind("ws2812b", reset_us=300.0).max_fps(512) == pytest.approx(63.86, abs=0.005)
    white, slow = pixel_kind("sk6812-rgbw", reset_us=300.0), pixel_kind("ws2811-12v-400k")
    assert white.max_fps(825) >= 30 > white.max_fps(826)
    assert slow.max_fps(554) >= 30 > slow.max_fps(555)


def test_worked_current_of_full_white():
    """WS2811 at 18.5 mA with 0.7 mA of its own: 56.2 mA; V5 class 36.6; 60 mA the usual worst [P, P2]."""
    row = pixel_kind("ws2811-5v")
    assert sum(row.channel_ma) + row.idle_ma == pytest.approx(56.2)
    row = pixel_kind("ws2812b-v5")
    assert sum(row.channel_ma) + row.idle_ma == pytest.approx(36.6)
    assert sum(pixel_kind("ws2812b").channel_ma) == 60


@pytest.mark.parametrize("kind", PIXEL_KINDS.values(), ids=lambda k: k.name)
def test_every_row_makes_sense(kind):
    assert len(kind.channel_ma) == len(kind.off_volts) == len(kind.full_volts) == kind.channels
    assert max(kind.full_volts) == pytest.approx(kind.min_volts) and kind.min_volts <= kind.volts
    # Blue and green go before red.
    assert kind.full_volts[0] < kind.full_volts[1] and kind.off_volts[0] < kind.off_volts[2]
    assert any(tag in kind.source for tag in ("[P]", "[P2]", "[C]", "[M]"))


def test_a_measurement_takes_the_place_of_a_figure():
    row = pixel_kind("ws2811-12v", channel_ma=(15.0, 14.0, 13.5), idle_ma=1.1)
    assert row.channel_ma == (15.0, 14.0, 13.5) and row.idle_ma == 1.1
    assert "given by the house file: channel_ma, idle_ma" in row.source


@pytest.mark.parametrize(
    ("name", "figures", "says"),
    [
        ("ws2811", {}, 'no pixel kind "ws2811"; did you mean "ws2811-5v"'),
        ("ws2812b", {"idle_ma": math.nan}, "idle_ma: is nan; expected 0 to 500"),
        ("ws2812b", {"channel_ma": (20.0, -1.0, 20.0)}, "channel_ma: is -1"),
        ("ws2812b", {"channel_ma": (20.0,) * 4}, "has 4 figures, but order GRB has 3 channels"),
        ("ws2812b", {"order": "GGB"}, "expected the letters RGB or RGBW"),
        ("ws2812b", {"min_volts": 6.0}, "not above the 5 V of the supply"),
        ("ws2812b", {"bit_us": math.inf}, "bit_us: is inf"),
    ],
)
def test_figures_that_no_pixel_has_are_refused(name, figures, says):
    with pytest.raises(InputError, match=says):
        pixel_kind(name, **figures)
