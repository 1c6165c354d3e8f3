"""Work beside the light: a function called every so often in a thread, whatever happens to it."""

from __future__ import annotations

import threading
from collections.abc import Callable

from lumenmap.core.notices import notice


class Every:
    """Calls a function every so many seconds until it is stopped; its failure is told once.

    Parameters
    ----------
    what
        What it does, for people.
    """

    def __init__(self, seconds: float, function: Callable[[], None], what: str) -> None:
        self._seconds, self._function, self._what = seconds, function, what
        self._over = False
        self._wake = threading.Event()
        self._thread = threading.Thread(target=self._run, name=what, daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def _run(self) -> None:
        while not self._over:
            self._wake.clear()
            try:
                self._function()
            except Exception as error:  # nothing beside the light stops the light
                notice(f"{self._what}: {type(error).__name__}: {error}; the lights keep playing")
            self._wake.wait(self._seconds)

    def soon(self) -> None:
        """Call it at once, or again when the call that is under way has ended."""
        self._wake.set()

    def stop(self, wait: float = 2.0) -> None:
        """End it, waiting for a call that is under way for at most so long (s)."""
        self._over = True
        self._wake.set()
        if self._thread.is_alive():
            self._thread.join(wait)
