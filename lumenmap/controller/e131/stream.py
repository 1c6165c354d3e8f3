"""A show as a live E1.31 stream: absolute deadlines, packets built a block ahead.

Strategy: frame ``i`` is due at ``start + i / rate``, whatever happened before, so nothing drifts.
A stream that wakes more than a frame late (a busy machine, a laptop opened again) drops what is
past and goes on with the frame that is due now. Loss is counted and told, never waited for.
"""

from __future__ import annotations

import contextlib
import gc
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lumenmap.controller.e131.blocks import PacketBlocks, dim_levels
from lumenmap.controller.e131.clock import Clock, SystemClock
from lumenmap.controller.e131.pace import Pace, pace
from lumenmap.controller.e131.packets import (
    DISCOVERY_SECONDS,
    SYNC_SEQUENCE_AT,
    Source,
    discovery_packets,
    sync_packet,
)
from lumenmap.controller.e131.routes import Routes
from lumenmap.controller.e131.sender import Sending
from lumenmap.controller.files.frameset import FrameSet
from lumenmap.core.errors import InputError
from lumenmap.pixels.universes import Universe

#: Frames are built so far ahead (s); a loss is called over after a second without one.
_AHEAD = 0.5
_OVER = 1.0


@dataclass(slots=True)
class Report:
    """What a stream did: counts, and seconds."""

    frames: int = 0
    dropped: int = 0
    packets: int = 0
    lost: dict[str, int] = field(default_factory=dict)
    seconds: float = 0.0
    worst_late: float = 0.0


@contextlib.contextmanager
def _frozen() -> Iterator[None]:
    """Keep what is loaded out of the garbage collector's way: looking through it takes frames.

    What is garbage already is collected first, and what becomes garbage later: nothing stays.
    """
    gc.collect()
    gc.freeze()
    try:
        yield
    finally:
        gc.unfreeze()


class Stream:
    """Plays frames into a sender.

    Parameters
    ----------
    source, universes, routes
        Who sends what where.
    sender
        Takes the packets; the stream does not close it.
    clock
        The machine's if not given.
    sync
        Universe of the synchronisation packets, 0 for none.
    brightness
        0..1 of the codes.
    steady
        Send still data every frame too.
    fast
        Send more than 44 frames a second if the show has them.
    say
        Told in words of losses and their end.
    """

    def __init__(
        self,
        source: Source,
        universes: tuple[Universe, ...],
        routes: Routes,
        sender: Sending,
        *,
        clock: Clock | None = None,
        sync: int = 0,
        brightness: float = 1.0,
        steady: bool = False,
        fast: bool = False,
        say: Callable[[str], None] = lambda _: None,
    ) -> None:
        self._source, self._universes, self._routes = source, universes, routes
        self._sender, self._clock, self._say = sender, clock or SystemClock(), say
        self._steady, self._fast = steady, fast
        self.dim(brightness)
        self._sync_universe = sync
        self._sync = bytearray(sync_packet(source.cid, sync)) if sync else None
        self._discovery = discovery_packets(source, [u.number for u in universes])
        self._discover_at = -math.inf
        self._trouble_since: float | None = None
        self._trouble_last = -math.inf
        self._trouble_lost = 0
        self._sequence: NDArray[np.int64] | None = None  # goes on from one show to the next
        self.report = Report()

    def dim(self, brightness: float) -> None:
        """Turn all codes down to a share of 1 from the next `play` on."""
        if not 0 < brightness <= 1:
            raise InputError(f"brightness is {brightness:g}; more than 0, at most 1 is wanted")
        self._levels = dim_levels(brightness)

    @_frozen()
    def play(
        self,
        frames: FrameSet,
        *,
        loop: bool = False,
        stop: Callable[[], bool] = lambda: False,
        close: bool | Callable[[], bool] = True,
        begun: float | None = None,
    ) -> Report:
        """Play to the end, or in a loop until ``stop`` says so.

        Parameters
        ----------
        close
            End with three black frames and three stream-terminated packets a universe; asked at
            the end if it is a function.
        begun
            When the first frame was due by the stream's clock; now if not given. A show that began
            earlier is joined at the frame that is due.
        """
        how = pace(frames.fps, fast=self._fast)
        blocks = self._blocks(how)
        now = self._clock.now()
        ticks = math.inf if loop else math.ceil(len(frames.codes) / how.step) * how.repeat
        flat, count = frames.flat(), len(frames.codes)

        def rows(tick: int) -> list[int]:
            end = min(tick + blocks.length, ticks)
            return [how.frame(i) % count for i in range(tick, int(end))]

        tick = 0 if begun is None else max(0, math.floor((now - begun) * how.rate))
        while tick < ticks and not stop():
            chosen = rows(tick)
            block = blocks.build(flat[chosen])
            if begun is None:  # only now, so that the first frame isn't late by the building
                begun = self._clock.now()
            played = 0
            for packets in block:
                late = self._wait(begun + tick / how.rate)
                if stop():
                    break
                if late > 1 / how.rate:  # drop what is past, go on with what is due
                    missed = int(late * how.rate)
                    missed = int(min(missed, ticks - tick))
                    self.report.dropped += missed
                    tick += missed
                    self._tell_late(late, missed)
                    break
                self._send(packets)
                self.report.frames += 1
                tick, played = tick + 1, played + 1
            if played < len(block):
                blocks.rewind(played)
        if begun is not None and tick >= ticks and not stop():  # the last frame has its time too
            self._wait(begun + tick / how.rate)
        if close() if callable(close) else close:
            self._close(blocks, how)
        self._sequence = blocks.sequence
        self._still_lost()
        self.report.lost = dict(self._sender.lost)
        self.report.seconds += self._clock.now() - now
        return self.report

    def _blocks(self, how: Pace) -> PacketBlocks:
        return PacketBlocks(
            self._source,
            self._universes,
            how.rate,
            length=max(8, min(64, round(how.rate * _AHEAD))),
            sync=self._sync_universe,
            steady=self._steady,
            levels=self._levels,
            sequence=self._sequence,
        )

    def _wait(self, due: float) -> float:
        """Wait for a moment; return how late it is now (s)."""
        now = self._clock.now()
        if now < due:
            self._clock.sleep(due - now)
            now = self._clock.now()
        late = now - due
        self.report.worst_late = max(self.report.worst_late, late)
        return late

    def _send(self, packets: list[tuple[int, memoryview]]) -> None:
        send, data = self._sender.send, self._routes.data
        failed = 0
        for k, packet in packets:
            for address in data[k]:
                failed += not send(packet, address)
                self.report.packets += 1
        if self._sync is not None and packets and self._routes.sync:
            send(bytes(self._sync), self._routes.sync)
            self._sync[SYNC_SEQUENCE_AT] = (self._sync[SYNC_SEQUENCE_AT] + 1) & 255
        now = self._clock.now()
        if self._routes.discovery and now - self._discover_at >= DISCOVERY_SECONDS:
            self._discover_at = now
            for page in self._discovery:
                send(page, self._routes.discovery)
        if packets:
            self._watch(failed, now)

    def _close(self, blocks: PacketBlocks, how: Pace) -> None:
        begun = self._clock.now()
        for i, packets in enumerate(blocks.closing()):
            self._wait(begun + i / how.rate)
            self._send(packets)

    def _watch(self, failed: int, now: float) -> None:
        """Tell of the network's troubles once when they begin and once when they end."""
        if failed:
            if self._trouble_since is None:
                self._trouble_since = now
                self._say(f"packets are being lost: {_reasons(self._sender)}; going on")
            self._trouble_last, self._trouble_lost = now, self._trouble_lost + failed
        elif self._trouble_since is not None and now - self._trouble_last >= _OVER:
            self._tell_lost("the network is back", self._trouble_last)

    def _still_lost(self) -> None:
        if self._trouble_since is not None:
            self._tell_lost("stopped while packets were being lost", self._clock.now())

    def _tell_lost(self, what: str, until: float) -> None:
        since = self._trouble_since or 0.0
        self._say(f"{what}: {self._trouble_lost} packets lost in {until - since:.1f} s")
        self._trouble_since, self._trouble_lost = None, 0

    def _tell_late(self, late: float, missed: int) -> None:
        if late >= _OVER:  # shorter ones are in the report
            self._say(f"woke {late:.2f} s late: {missed} frames dropped, going on in time")


def _reasons(sender: Sending) -> str:
    return ", ".join(f"{why} ({n})" for why, n in sender.lost.most_common(3))
