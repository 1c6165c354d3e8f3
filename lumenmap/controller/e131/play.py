"""Plays one set of frames after another on the same wire: the nightly program hands them over."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from lumenmap.controller.e131.clock import Clock
from lumenmap.controller.e131.packets import Source
from lumenmap.controller.e131.routes import Routes
from lumenmap.controller.e131.sender import Sending
from lumenmap.controller.e131.stream import Stream
from lumenmap.controller.files.frameset import FrameSet
from lumenmap.pixels.universes import Universe, plan_universes


class StreamPlayer:
    """Streams frames for a time; sequence numbers go on from one show to the next.

    Parameters
    ----------
    route
        Says where universes go.
    options
        For `Stream`.
    """

    def __init__(
        self,
        source: Source,
        route: Callable[[tuple[Universe, ...]], Routes],
        sender: Sending,
        clock: Clock,
        **options: Any,
    ) -> None:
        self._source, self._route, self._sender, self._clock = source, route, sender, clock
        self._options = options
        self._streams: dict[tuple[Universe, ...], Stream] = {}

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
        """Play for so many seconds, or until ``stop``; frame 0 was due when the clock was begun.

        At the end ``close`` says whether nothing follows, so that it must go dark.
        """
        universes = plan_universes(frames.lines, frames.channels)
        if universes not in self._streams:
            self._streams[universes] = Stream(
                self._source,
                universes,
                self._route(universes),
                self._sender,
                clock=self._clock,
                **self._options,
            )
        stream = self._streams[universes]
        stream.dim(brightness)
        end = self._clock.now() + seconds
        stream.play(
            frames,
            loop=True,
            begun=begun,
            stop=lambda: self._clock.now() >= end or stop(),
            close=close,
        )
