"""One browser's side of a socket: what waits to be sent to it, within bounds.

Strategy: a message that replaces what a page knew also replaces one that still waits. Stretches of
codes of an older version are dropped, and nothing is rendered for a browser whose queue is full. So
a slow reader costs a few megabytes and no time.
"""

from __future__ import annotations

import asyncio
import itertools
import threading
import time
from collections import OrderedDict, deque
from collections.abc import Callable
from datetime import date

from starlette.websockets import WebSocket

from lumenmap.desk.wire.facts import Rights

#: Bytes of stretches that may wait for one browser.
ROOM = 2 << 20
#: Answers that may wait; a browser that asks so much and reads nothing is closed.
MOST_ANSWERS = 500
#: Changes a second from one browser; and messages of any kind.
EDITS_A_SECOND, MESSAGES_A_SECOND = 60, 300
_NUMBERS = itertools.count(1)


class Bucket:
    """So many a second, and no more than so many at once."""

    def __init__(self, rate: float, clock: Callable[[], float] = time.monotonic) -> None:
        self._rate, self._clock = rate, clock
        self._left, self._at = rate, clock()

    def take(self) -> bool:
        """Return whether there is one left."""
        now = self._clock()
        self._left = min(self._rate, self._left + (now - self._at) * self._rate)
        self._at = now
        if self._left < 1:
            return False
        self._left -= 1
        return True


class Client:
    """A browser.

    Parameters
    ----------
    room
        Called when there is room again for stretches.
    """

    def __init__(
        self, socket: WebSocket, rights: Rights, *, local: bool, room: Callable[[], None]
    ) -> None:
        self.number = next(_NUMBERS)
        self.socket, self.rights, self.local = socket, rights, local
        self.file: str | None = None
        self.allowed: set[str] = set()
        self.days: tuple[date | None, int] | None = None
        self.days_told = ""
        self.edits, self.messages = Bucket(EDITS_A_SECOND), Bucket(MESSAGES_A_SECOND)
        self.address = socket.client.host if socket.client else ""
        self._room = room
        self._loop = asyncio.get_running_loop()
        self._some = asyncio.Event()
        self._lock = threading.Lock()
        self._answers: deque[str] = deque()
        self._told: OrderedDict[str, str] = OrderedDict()
        self._stretches: deque[tuple[bytes, int, int]] = deque()
        self._bytes = 0

    @property
    def small(self) -> bool:
        """Whether messages should be compressed: not on the same machine."""
        return not self.local

    @property
    def ready(self) -> bool:
        """Whether it has room for more stretches."""
        return self._bytes < ROOM

    def put(self, message: bytes, show: int, version: int) -> None:
        """Take a stretch; called from the thread that renders."""
        with self._lock:
            kept = [s for s in self._stretches if (s[1], s[2]) == (show, version)]
            if len(kept) < len(self._stretches):
                self._stretches = deque(kept)
            self._stretches.append((message, show, version))
            self._bytes = sum(len(s[0]) for s in self._stretches)
        self._loop.call_soon_threadsafe(self._some.set)

    def answer(self, text: str) -> bool:
        """Queue an answer; return False if too many wait."""
        if len(self._answers) >= MOST_ANSWERS:
            return False
        self._answers.append(text)
        self._some.set()
        return True

    def tell(self, what: str, text: str) -> None:
        """Queue what replaces everything told before under the same name."""
        self._told[what] = text
        self._told.move_to_end(what)
        self._some.set()

    async def send_all(self) -> None:
        """Send what waits, for as long as the socket is open."""
        while True:
            await self._some.wait()
            self._some.clear()
            while (message := self._next()) is not None:
                if isinstance(message, bytes):
                    await self.socket.send_bytes(message)
                else:
                    await self.socket.send_text(message)

    def _next(self) -> str | bytes | None:
        if self._answers:
            return self._answers.popleft()
        if self._told:
            return self._told.popitem(last=False)[1]
        with self._lock:
            if not self._stretches:
                return None
            was = self.ready
            message, _, _ = self._stretches.popleft()
            self._bytes -= len(message)
        if not was and self.ready:
            self._room()
        return message
