"""The rate at which a show is sent: within E1.31's limit, and often enough for keep-alives."""

from __future__ import annotations

import math
from dataclasses import dataclass

#: 6.6.1 limits a source to the highest refresh rate of E1.11 (DMX512): about 44 frames/s for 512
#: slots, 88 µs break + 12 µs mark + 513 × 44 µs (E1.11 from memory; sum computed).
MOST_FPS = 44.0
#: Slower shows are sent more often than they change, so that keep-alives are in time.
LEAST_RATE = 5.0


@dataclass(frozen=True, slots=True)
class Pace:
    """Every ``step``-th frame of a show is sent, each ``repeat`` times, at ``rate`` frames/s."""

    rate: float
    step: int
    repeat: int

    def frame(self, tick: int) -> int:
        """Return the frame due at a tick; past the end of the show in a loop."""
        return tick // self.repeat * self.step


def pace(fps: float, *, fast: bool = False) -> Pace:
    """Choose how to send a show of ``fps`` frames/s.

    Above 44 frames/s only every second, third… frame is sent, unless ``fast``.
    """
    step = 1 if fast else max(1, math.ceil(fps / MOST_FPS))
    repeat = max(1, math.ceil(LEAST_RATE / (fps / step)))
    return Pace(fps / step * repeat, step, repeat)
