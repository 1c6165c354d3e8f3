"""Channel order: what each place of a pixel's bytes on the wire carries."""

from itertools import permutations

import numpy as np
import pytest

from lumenmap.codes.order import channel_places, to_wire

RED, GREEN, BLUE, WHITE = 10, 20, 30, 40
COLOUR = {"R": RED, "G": GREEN, "B": BLUE, "W": WHITE}


@pytest.mark.parametrize("order", ["".join(p) for p in permutations("RGB")])
def test_place_k_on_the_wire_carries_the_orders_letter_k(order):
    """All six, the two that are not their own inverse (GBR, BRG) among them."""
    codes = np.array([[[RED, GREEN, BLUE]]], np.uint8)
    wired = to_wire(codes, [(slice(0, 1), order)])
    assert wired[0, 0].tolist() == [COLOUR[letter] for letter in order]


@pytest.mark.parametrize("order", ["".join(p) for p in permutations("RGBW")])
def test_four_channels_likewise(order):
    codes = np.array([[[RED, GREEN, BLUE, WHITE]]], np.uint8)
    wired = to_wire(codes, [(slice(0, 1), order)])
    assert wired[0, 0].tolist() == [COLOUR[letter] for letter in order]


def test_grb_is_what_the_data_sheet_of_the_ws2812b_asks_for():
    """WS2812B data sheet, "Composition of 24bit data": G7..G0 R7..R0 B7..B0 [P]."""
    pure_red = np.array([[[255, 0, 0]]], np.uint8)
    assert to_wire(pure_red, [(slice(0, 1), "GRB")])[0, 0].tolist() == [0, 255, 0]
    assert channel_places("BRG") == [2, 0, 1]


def test_each_line_has_its_own_order_and_no_other_pixel_moves():
    codes = np.arange(2 * 5 * 3, dtype=np.uint8).reshape(2, 5, 3)
    wired = to_wire(codes, [(slice(0, 2), "RGB"), (slice(2, 5), "BRG")])
    assert (wired[:, :2] == codes[:, :2]).all()
    assert (wired[:, 2:] == codes[:, 2:][:, :, [2, 0, 1]]).all()
    assert (to_wire(codes, [(slice(0, 2), "BGR"), (slice(2, 5), "BGR")]) == codes[..., ::-1]).all()
