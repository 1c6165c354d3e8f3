"""Plays one set of frames after another on the same universes, as the evening's program needs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from lumenmap.controller.e131.clock import Clock
from lumenmap.controller.e131.options import StreamOptions
from lumenmap.controller.e131.packets import Source
from lumenmap.controller.e131.routes import Routes
from lumenmap.controller.e131.sender import Sender
from lumenmap.controller.e131.stream import Stream
from lumenmap.controller.files.frameset import FrameSet


class StreamPlayer:
    """Streams frames for a given time; sequence numbers continue from one show to the next.

    Parameters
    ----------
    route
        Works out what packets a show's frames take, and where they go.
    options
        As for `Stream`; each `play` sets its own brightness.
    notify
        Called with a sentence when something happens.
    losses
        As for `Stream`.
    """

    def __init__(
        self,
        source: Source,
        route: Callable[[FrameSet], Routes],
        sender: Sender,
        clock: Clock,
        options: StreamOptions = StreamOptions(),
        notify: Callable[[str], None] = lambda _: None,
        losses: Callable[[str], None] | None = None,
    ) -> None:
        self._source, self._route, self._sender, self._clock = source, route, sender, clock
        self._options, self._notify, self._losses = options, notify, losses
        self._streams: dict[Routes, Stream] = {}

    @property
    def sent(self) -> tuple[int, int, int]:
        """Frames sent, frames dropped for being late, packets, since the start."""
        reports = [stream.report for stream in list(self._streams.values())]
        return (
            sum(r.frames for r in reports),
            sum(r.dropped for r in reports),
            sum(r.packets for r in reports),
        )

    def play(
        self,
        frames: FrameSet,
        brightness: float,
        begun: float,
        seconds: float,
        stop: Callable[[], bool],
        *,
        close: Callable[[], bool],
    ) -> None:
        """Play for so many seconds, or until ``stop``; frame 0 was due at ``begun`` of the clock.

        At the end, ``close`` returns whether nothing follows, so that the pixels must go dark.
        """
        routes = self._route(frames)
        if routes not in self._streams:
            self._streams[routes] = Stream(
                self._source,
                routes,
                self._sender,
                self._options,
                clock=self._clock,
                notify=self._notify,
                losses=self._losses,
            )
        stream = self._streams[routes]
        stream.options = replace(self._options, brightness=brightness)
        end = self._clock.now() + seconds
        stream.play(
            frames,
            loop=True,
            begun=begun,
            stop=lambda: self._clock.now() >= end or stop(),
            close=close,
        )
