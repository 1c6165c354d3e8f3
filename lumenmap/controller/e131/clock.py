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


#: A sleeping process is woken late, by 0.05 to 0.2 ms on an idle machine and at times by more
#: (measured), so the end of a wait is spent awake: this share of it, so much of a core at most,
#: and of a long wait no more than so long (s).
_AWAKE_SHARE, _AWAKE_MOST = 0.012, 0.002


class SystemClock:
    """The machine's own clock.

    On Linux CLOCK_MONOTONIC stands still while a laptop sleeps, and a show paced by it would wake
    hours behind; CLOCK_BOOTTIME goes on.
    """

    def __init__(self) -> None:
        self._id: int = getattr(time, "CLOCK_BOOTTIME", getattr(time, "CLOCK_MONOTONIC", -1))
        self._late = 0.0  # mean of how late the system wakes us, of the last some thirty times

    def now(self) -> float:
        """Return seconds since the machine started."""
        return time.monotonic() if self._id < 0 else time.clock_gettime(self._id)

    def sleep(self, seconds: float) -> None:
        """Wait; a signal does not shorten it."""
        now = self.now()
        due = now + seconds
        wake = due - self._late - min(_AWAKE_SHARE * seconds, _AWAKE_MOST)
        if wake > now:
            time.sleep(wake - now)
            self._late += (min(self.now() - wake, _AWAKE_MOST) - self._late) / 32
        while self.now() < due:
            pass


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
