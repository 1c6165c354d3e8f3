"""Telling the service manager that the program is ready and alive (sd_notify(3))."""

from __future__ import annotations

import contextlib
import os
import socket
import time

#: Signs of life are sent no more often (s); the unit's watchdog waits far longer.
_APART = 10.0


class ServiceManager:
    """The manager that started this program, if one did; otherwise every message goes nowhere."""

    def __init__(self) -> None:
        self._address = os.environ.get("NOTIFY_SOCKET", "")
        self._last = float("-inf")

    @property
    def there(self) -> bool:
        """Whether one started this program."""
        return bool(self._address)

    def ready(self) -> None:
        """Tell that the start is over."""
        self._send("READY=1")

    def alive(self) -> None:
        """Give a sign of life, if the last one is some time ago."""
        now = time.monotonic()
        if now - self._last >= _APART:
            self._last = now
            self._send("WATCHDOG=1")

    def _send(self, text: str) -> None:
        if not self._address or not hasattr(socket, "AF_UNIX"):
            return
        # A name that starts with @ stands for one in the kernel's own space, which starts with NUL.
        address = self._address.replace("@", "\0", 1) if self._address[0] == "@" else self._address
        with contextlib.suppress(OSError), socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as out:
            out.setblocking(False)
            out.sendto(text.encode(), address)
