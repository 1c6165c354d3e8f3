"""Frames over a serial line, as the board takes them (PROTOCOL.md)."""

import numpy as np
import pytest

from lumenmap.controller.flash.image import flash_image
from lumenmap.controller.serial.framing import END, serial_frame
from tests.controller.board.conftest import LIVE, PLAYING, show_of


@pytest.fixture
def porch(board):
    b = board(memory=2000)
    b.file(0, flash_image(show_of(frames=40, counts=(20, 5))))
    b.play(0)
    b.run(100)
    b.shown()
    return b


def live(b):
    return [s.codes for s in b.shown() if s.state == LIVE]


def test_frames_take_over_and_silence_gives_back(porch):
    rng = np.random.default_rng(1)
    frames = [rng.integers(0, 256, 75, dtype=np.uint8).tobytes() for _ in range(20)]
    for i, frame in enumerate(frames):
        data = serial_frame(frame, sequence=i)
        for at in range(0, len(data), 7):  # in pieces, as they come
            porch.octets(data[at : at + 7])
        porch.run(25)
    assert live(porch) == frames and porch.state() == LIVE
    porch.run(2400)
    assert porch.state() == LIVE
    porch.run(200)
    assert porch.state() == PLAYING


def test_end_gives_back_at_once(porch):
    porch.octets(serial_frame(bytes([9] * 75)))
    porch.octets(serial_frame(bytes([255] * 75), kind=END))
    assert live(porch) == [bytes([9] * 75)]
    assert porch.run(50).state() == PLAYING


def test_joins_in_the_middle_and_after_noise(porch):
    frames = [bytes([i]) * 75 for i in (1, 2, 3)]
    data = b"".join(serial_frame(f, sequence=i) for i, f in enumerate(frames))
    porch.octets(b"LLM\x01LML" + data[40:])  # noise that looks like heads, and half a frame
    assert live(porch) == frames[1:]


def test_no_damaged_frame_is_shown(porch):
    """A changed octet anywhere: the frame is left out, and the next good one is found."""
    rng = np.random.default_rng(2)
    good = [rng.integers(0, 256, 75, dtype=np.uint8).tobytes() for _ in range(4)]
    for at in range(87):
        bad = bytearray(serial_frame(good[0]))
        bad[at] ^= 1 << int(rng.integers(8))
        porch.octets(bad)
        for frame in good[1:]:
            porch.octets(serial_frame(frame))
        seen = live(porch)
        if at == 3:
            continue
        assert set(seen) <= set(good[1:]) and good[3] in seen, at
    assert porch.bad() > 50


def test_noise_is_never_light(porch):
    rng = np.random.default_rng(3)
    for _ in range(200):
        porch.octets(rng.integers(0, 256, 500, dtype=np.uint8).tobytes())
        porch.octets(b"LM\x01\x00K\x00\x00\x00")  # a head with this house's length
        porch.run(5)
    assert not any(any(c) for c in live(porch))
    porch.run(3000)
    assert porch.state() == PLAYING
