"""What is heard when: samples that tell their own time."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from lumenmap.jobs.aloud.filling import APART, Filling

RATE = 1000


class Tape:
    """A sound whose samples are their own time in seconds (left) and its negative (right)."""

    samplerate = RATE

    def __init__(self, seconds, channels=2):
        self.frames, self._at = round(seconds * RATE), 0
        times = np.arange(self.frames) / RATE
        self._samples = np.stack([times, -times, times * 0], 1)[:, :channels].astype(np.float32)
        self.seeks = 0

    def seek(self, at):
        self._at = at
        self.seeks += 1
        return at

    def read(self, count, dtype, always_2d):
        assert dtype == "float32" and always_2d
        got = self._samples[self._at : self._at + count]
        self._at += len(got)
        return got


def heard(filling, moments, block=50, channels=2):
    """Everything that is heard in blocks that begin at these moments."""
    blocks = []
    for moment in moments:
        out = np.full((block, channels), 9, np.float32)
        filling.fill(out, moment)
        blocks.append(out)
    return np.concatenate(blocks)


def test_it_joins_the_show_where_it_is():
    got = heard(Filling(Tape(10), begun=100.0, seconds=10, loop=False), [103.5, 103.55])
    assert got[:, 0] == pytest.approx(3.5 + np.arange(100) / RATE, abs=1e-6)
    assert got[:, 1] == pytest.approx(-got[:, 0])


def test_before_the_show_and_after_it_there_is_silence():
    filling = Filling(Tape(10), begun=100.0, seconds=2.0, loop=False)
    got = heard(filling, [99.98, 101.97, 102.5])[:, 0]
    assert got[:20] == pytest.approx(0)
    assert got[20:50] == pytest.approx(np.arange(30) / RATE, abs=1e-6)
    assert got[50:80] == pytest.approx(1.97 + np.arange(30) / RATE, abs=1e-6)
    assert not got[80:].any()


@given(st.floats(0, 1e6), st.floats(0.3, 3.0), st.floats(0.3, 4.0), st.floats(0, 50))
def test_in_a_loop_it_begins_anew_with_the_show(begun, seconds, length, later):
    """A sound that is shorter than the show leaves silence; of a longer one the rest isn't heard."""
    tape = Tape(length)
    got = heard(Filling(tape, begun, seconds, loop=True), [begun + later], block=200)[:, 0]
    loop = round(seconds * RATE)
    place = (round((begun + later - begun) * RATE) + np.arange(200)) % loop
    assert got == pytest.approx(np.where(place < tape.frames, place / RATE, 0), abs=2e-3)


def test_a_device_with_a_clock_of_its_own_stays_in_step():
    """One that is 0.5 % slow: put right whenever it is 30 ms off, and untouched between."""
    tape = Tape(200)
    filling = Filling(tape, begun=0.0, seconds=200, loop=False)
    moments = np.arange(2000) * 0.05 * 1.005
    got = heard(filling, moments)[::50, 0]
    off = np.abs(got - moments)
    assert off.max() < APART + 0.002 and off.max() > APART / 2
    assert 10 <= filling.jumps <= 20  # 0.5 s in all, 30 ms each
    assert tape.seeks <= filling.jumps + 1


def test_small_unsteadiness_is_not_heard():
    tape = Tape(20)
    filling = Filling(tape, begun=0.0, seconds=20, loop=False)
    moments = np.arange(100) * 0.05 + np.random.default_rng(3).uniform(-0.01, 0.01, 100)
    got = heard(filling, moments + 1)[:, 0]
    assert np.diff(got) == pytest.approx(1 / RATE, abs=1e-5)
    assert filling.jumps == 0 and tape.seeks == 1


@pytest.mark.parametrize(("channels", "out"), [(1, 1), (1, 2), (3, 2)])
def test_as_many_channels_as_there_are(channels, out):
    got = heard(Filling(Tape(2, channels), 0.0, 2, loop=False), [1.0], channels=out)
    assert got[:, 0] == pytest.approx(1 + np.arange(50) / RATE)
    if out == 2:
        assert got[:, 1] == pytest.approx(-got[:, 0] if channels > 1 else 0 * got[:, 0])
