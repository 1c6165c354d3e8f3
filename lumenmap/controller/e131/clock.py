"""The clock that paces frames; it keeps counting while the machine is suspended."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Protocol


class Clock(Protocol):
    """Monotonic seconds, and waiting; tests supply their own."""

    def now(self) -> float:
        """Return seconds since some fixed moment."""
        ...

    def sleep(self, seconds: float) -> None:
        """Wait."""
        ...


#: A sleeping process wakes late, by 0.05 to 0.2 ms on an idle machine and sometimes by more
#: (measured), so the end of a wait is a busy loop: this share of the wait, and at most so long (s).
_BUSY_SHARE, _BUSY_SECONDS = 0.012, 0.002


class SystemClock:
    """The machine's own clock.

    On Linux, CLOCK_MONOTONIC stops while a laptop sleeps, so a show paced by it would wake hours
    behind; CLOCK_BOOTTIME keeps counting.
    """

    def __init__(self) -> None:
        self._id: int = getattr(time, "CLOCK_BOOTTIME", getattr(time, "CLOCK_MONOTONIC", -1))
        self._late = 0.0  # running mean of how late the system wakes us (s)

    def now(self) -> float:
        """Return seconds since the machine started."""
        return time.monotonic() if self._id < 0 else time.clock_gettime(self._id)

    def sleep(self, seconds: float) -> None:
        """Wait; signals don't shorten it."""
        now = self.now()
        due = now + seconds
        wake = due - self._late - min(_BUSY_SHARE * seconds, _BUSY_SECONDS)
        if wake > now:
            time.sleep(wake - now)
            self._late += (min(self.now() - wake, _BUSY_SECONDS) - self._late) / 32
        while self.now() < due:
            pass


class InterruptibleClock(SystemClock):
    """A system clock whose long waits can be cut short.

    Parameters
    ----------
    wait
        Waits for a number of seconds, or until it is interrupted.
    """

    def __init__(self, wait: Callable[[float], None]) -> None:
        super().__init__()
        self._wait = wait

    def sleep(self, seconds: float) -> None:
        """Wait; short waits, those between frames, can't be interrupted and are exact."""
        (super().sleep if seconds < 0.5 else self._wait)(seconds)
