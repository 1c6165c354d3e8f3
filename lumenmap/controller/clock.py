"""The clock that frames are paced by: it counts on while the machine is suspended."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Protocol


class Clock(Protocol):
    """Seconds that never jump, and waiting; a test puts its own in."""

    def now(self) -> float:
        """Return seconds since some fixed moment."""
        ...

    def sleep(self, seconds: float) -> None:
        """Wait."""
        ...


class SystemClock:
    """The machine's own clock.

    On Linux CLOCK_MONOTONIC stands still while a laptop sleeps, and a show paced by it would wake
    hours behind; CLOCK_BOOTTIME goes on.
    """

    def __init__(self) -> None:
        self._id: int = getattr(time, "CLOCK_BOOTTIME", getattr(time, "CLOCK_MONOTONIC", -1))

    def now(self) -> float:
        """Return seconds since the machine started."""
        return time.monotonic() if self._id < 0 else time.clock_gettime(self._id)

    def sleep(self, seconds: float) -> None:
        """Wait; a signal does not shorten it."""
        time.sleep(seconds)


class PatientClock(SystemClock):
    """A system clock whose long waits end early when something asks for it.

    Parameters
    ----------
    wait
        Waits so many seconds, or until stopping is asked for.
    """

    def __init__(self, wait: Callable[[float], None]) -> None:
        super().__init__()
        self._wait = wait

    def sleep(self, seconds: float) -> None:
        """Wait; short waits, those between frames, to the microsecond."""
        (super().sleep if seconds < 0.5 else self._wait)(seconds)
