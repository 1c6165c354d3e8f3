"""How fast a show is sent: as E1.31 allows, and often enough to keep receivers awake."""

from __future__ import annotations

import math
from dataclasses import dataclass

#: 6.6.1 holds a source to the highest refresh rate of E1.11 (DMX512). That is about 44 a second
#: for 512 slots: 88 µs break + 12 µs mark + 513 × 44 µs (from memory of E1.11; sum computed).
MOST_FPS = 44.0
#: Slower shows are sent more often than they change, so that a keep-alive has its time.
LEAST_RATE = 5.0


@dataclass(frozen=True, slots=True)
class Pace:
    """How a show's frames are sent: every ``step``-th one, each ``repeat`` times."""

    rate: float
    step: int
    repeat: int

    def frame(self, tick: int) -> int:
        """Return the show's frame that is due at a tick, loops not taken off."""
        return tick // self.repeat * self.step


def pace(fps: float, *, fast: bool = False) -> Pace:
    """Choose how to send a show of ``fps`` frames a second.

    Above 44 only every second, third… frame is sent, unless ``fast`` asks for all of them.
    """
    step = 1 if fast else max(1, math.ceil(fps / MOST_FPS))
    repeat = max(1, math.ceil(LEAST_RATE / (fps / step)))
    return Pace(fps / step * repeat, step, repeat)
