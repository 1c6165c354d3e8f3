"""The pacing clock, on a machine that wakes late."""

import pytest

from lumenmap.controller.e131 import clock


class Machine:
    """Wakes sleepers so late; each look at the clock takes a microsecond."""

    def __init__(self, late):
        self.time, self.late, self.slept = 100.0, late, 0.0

    def now(self):
        self.time += 1e-6
        return self.time

    def sleep(self, seconds):
        self.slept += seconds + self.late
        self.time += seconds + self.late


@pytest.mark.parametrize("late", [0.0, 0.15e-3, 0.25e-3, 1e-3])
def test_waits_end_on_time_where_sleep_alone_is_late(monkeypatch, late):
    machine = Machine(late)
    monkeypatch.setattr(clock.time, "sleep", machine.sleep)
    own = clock.SystemClock()
    monkeypatch.setattr(own, "now", machine.now)
    for i in range(400):
        due = machine.time + 0.025
        own.sleep(0.025)
        assert machine.time >= due, "never early"
        if i > 200:
            assert machine.time - due < 5e-6
    awake = machine.time - 100.0 - machine.slept
    assert awake < 0.02 * 400 * 0.025, "and hardly any of it is spent awake"


def test_long_wait_is_slept_and_a_wait_of_nothing_is_none(monkeypatch):
    machine = Machine(0.15e-3)
    monkeypatch.setattr(clock.time, "sleep", machine.sleep)
    own = clock.SystemClock()
    monkeypatch.setattr(own, "now", machine.now)
    own.sleep(60.0)
    assert machine.slept == pytest.approx(60.0, abs=0.003)
    slept = machine.slept
    own.sleep(0.0)
    assert machine.slept == slept
