"""The light under the hand: renders from each playhead on, in a thread of its own.

Strategy: one thread takes the most urgent piece of work at a time, each some milliseconds long: the
frames at a playhead after an edit; the chunks around playheads; then the plan and the checks of
whole shows. A newer version of a show drops the older one between two pieces. A browser that
doesn't read isn't rendered for until it does.
"""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Protocol

from lumenmap.core.errors import LumenmapError
from lumenmap.core.system import give_back_memory
from lumenmap.desk.light.rendering import Rendering
from lumenmap.desk.light.take import CHUNK, Take
from lumenmap.jobs.project import Project

_LOG = logging.getLogger(__name__)
#: Frames that are drawn first after an edit, at the playhead.
FIRST = 4
#: Chunks at the playhead that go out before the whole show was checked.
URGENT = 2
#: Of a show longer than this (bytes of codes), only so much around the playhead is sent (s).
WHOLE, AROUND = 16 << 20, 20.0
#: After so long (s) without work, memory is given back.
IDLE = 2.0
#: The findings of a show are told this often while it is being looked at (chunks).
_TELL_EVERY = 32


class Reader(Protocol):
    """A browser's side: gets binary messages, and says whether it keeps up."""

    def put(self, message: bytes, show: int, version: int) -> None:
        """Take a message; those of older versions of the show may be dropped."""
        ...

    @property
    def ready(self) -> bool:
        """Whether it has room for more."""
        ...

    @property
    def small(self) -> bool:
        """Whether messages should be compressed."""
        ...


@dataclass(slots=True)
class _Watcher:
    """Who looks at a show, where, and what it has of which version."""

    reader: Reader
    show: int
    frame: int = 0
    version: int = 0
    drawn: tuple[int, int] = (0, -1)  # version and frame of the first stretch that it has
    has: dict[int, int] = field(default_factory=dict)  # chunk: its state


class Live:
    """Renders shows for those who look at them.

    Parameters
    ----------
    found
        Called with a take when more is known of it, from the thread.
    failed
        Called with a take and a sentence when it can't be rendered, from the thread.
    """

    def __init__(self, found: Callable[[Take], None], failed: Callable[[Take, str], None]) -> None:
        self._found, self._failed = found, failed
        self.rendering = Rendering()
        self._changed = threading.Condition()
        self._takes: dict[int, Take] = {}
        self._bad: set[tuple[int, int]] = set()
        self._watchers: dict[tuple[int, int], _Watcher] = {}  # by reader and show
        self._stop = False
        self._thread = threading.Thread(target=self._run, name="desk-live", daemon=True)

    def start(self) -> None:
        """Begin."""
        self._thread.start()

    def stop(self) -> None:
        """End, and wait for it."""
        with self._changed:
            self._stop = True
            self._changed.notify_all()
        if self._thread.is_alive():
            self._thread.join()
        self.rendering.forget()

    def put(self, number: int, version: int, project: Project) -> None:
        """Have a new version of a show; the old one is dropped."""
        before = self._takes.get(number)
        same = before is not None and before.project.site is project.site
        gains = before.gains if before is not None and same else None
        take = Take(project, number, version, self.rendering, gains)
        with self._changed:
            self._takes[number] = take
            self._changed.notify_all()

    def take(self, number: int) -> Take | None:
        """Return the newest version of a show."""
        return self._takes.get(number)

    def look(self, reader: Reader, number: int, frame: int) -> None:
        """Note where a reader's playhead is."""
        with self._changed:
            watcher = self._watchers.setdefault((id(reader), number), _Watcher(reader, number))
            watcher.frame = frame
            self._changed.notify_all()

    def leave(self, reader: Reader, number: int | None = None) -> None:
        """Render nothing more for a reader, or only no more of one show."""
        with self._changed:
            for key in list(self._watchers):
                if key[0] == id(reader) and number in (None, key[1]):
                    del self._watchers[key]

    def wake(self) -> None:
        """Look again: a reader has room."""
        with self._changed:
            self._changed.notify_all()

    def _run(self) -> None:
        worked = False
        while True:
            with self._changed:
                work = None
                while not self._stop and (work := self._next()) is None:
                    if not self._changed.wait(IDLE if worked else None):
                        break
                if self._stop:
                    return
            worked = work is not None
            if work is None:
                give_back_memory()
                continue
            take, act = work
            try:
                act()
            except LumenmapError as error:
                self._give_up(take, str(error))
            except Exception as error:  # one show must not end the desk for all others
                _LOG.exception("rendering failed")
                self._give_up(take, f"rendering failed: {type(error).__name__}: {error}")

    def _give_up(self, take: Take, why: str) -> None:
        with self._changed:
            self._bad.add((take.number, take.version))
        self._failed(take, why)

    def _next(self) -> tuple[Take, Callable[[], None]] | None:
        """Return the most urgent work; the lock is held."""
        pairs = list(self._pairs())
        for watcher, take in pairs:
            if self._undrawn(watcher, take):
                return take, lambda w=watcher, t=take: self._draw(w, t)
        for watcher, take in pairs:
            chunk = next((c for c in self._wanted(watcher, take)), None)
            if chunk is not None:
                return take, lambda w=watcher, t=take, c=chunk: self._send(w, t, c)
        for watcher, take in pairs:
            if not take.complete:
                return take, lambda w=watcher, t=take: self._step(w, t)
        return None

    def _pairs(self) -> Iterator[tuple[_Watcher, Take]]:
        for watcher in self._watchers.values():
            take = self._takes.get(watcher.show)
            if take is not None and (take.number, take.version) not in self._bad:
                yield watcher, take

    def _undrawn(self, watcher: _Watcher, take: Take) -> bool:
        """Return whether a browser lacks the very frame that it looks at."""
        if not watcher.reader.ready:
            return False
        if watcher.version != take.version:
            return True
        chunk = min(watcher.frame, take.frames - 1) // CHUNK
        version, first = watcher.drawn
        near = version == take.version and first <= watcher.frame < first + FIRST
        return chunk not in watcher.has and not near

    def _wanted(self, watcher: _Watcher, take: Take) -> Iterator[int]:
        """Yield the chunks that a browser should have next."""
        if not watcher.reader.ready or watcher.version != take.version:
            return
        here = min(watcher.frame, take.frames - 1) // CHUNK
        pixels = take.project.site.pixels
        around = take.chunks
        if take.frames * len(pixels) * pixels.kind.channels > WHOLE:
            around = min(around, int(AROUND * take.project.show.fps) // CHUNK + 1)
        for i in range(around):
            chunk = (here + i) % take.chunks
            if i < URGENT or chunk in take.checked:
                if watcher.has.get(chunk, 0) < take.state(chunk):
                    yield chunk
            elif not take.final:
                return

    def _draw(self, watcher: _Watcher, take: Take) -> None:
        if watcher.version != take.version:
            watcher.version, watcher.has = take.version, {}
        first = min(watcher.frame, take.frames - 1)
        made = take.stretch(first, min(first + FIRST, take.frames)).pack()
        watcher.drawn = (take.version, first)
        watcher.reader.put(made, take.number, take.version)

    def _send(self, watcher: _Watcher, take: Take, chunk: int) -> None:
        state = take.state(chunk)
        made = take.packed(chunk, small=watcher.reader.small)
        watcher.has[chunk] = state
        watcher.reader.put(made, take.number, take.version)

    def _step(self, watcher: _Watcher, take: Take) -> None:
        flashing = len(take.flashing)
        take.step(watcher.frame)
        many = take.checked and len(take.checked) % _TELL_EVERY == 0
        if take.complete or many or len(take.flashing) != flashing:
            self._found(take)
