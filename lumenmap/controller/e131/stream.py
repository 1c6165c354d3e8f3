"""A show as a live E1.31 stream: absolute deadlines, packets built a block ahead.

Strategy: frame ``i`` is due at ``start + i / rate``, whatever happened before, so nothing drifts.
A stream that wakes more than a frame late (a busy machine, a laptop opened again) drops the missed
frames and continues with the frame that is due now, in blocks half as long: on a machine so slow
that building one takes longer than a frame, building itself would make every frame late. Losses are
counted and reported, never waited for.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from lumenmap.controller.e131.blocks import PacketBlocks
from lumenmap.controller.e131.clock import Clock, SystemClock
from lumenmap.controller.e131.garbage import no_garbage_collection
from lumenmap.controller.e131.options import StreamOptions
from lumenmap.controller.e131.pace import Pace, pace
from lumenmap.controller.e131.packets import (
    DISCOVERY_SECONDS,
    SYNC_SEQUENCE_AT,
    Source,
    sync_packet,
)
from lumenmap.controller.e131.routes import Routes
from lumenmap.controller.e131.sender import Sender
from lumenmap.controller.e131.way import E131, PacketOptions
from lumenmap.controller.files.frameset import FrameSet

#: Frames are built this far ahead (s). A loss is over after this long without another (s).
_AHEAD = 0.5
_RECOVERED = 1.0


@dataclass(slots=True)
class Report:
    """What a stream did: counts, and seconds."""

    frames: int = 0
    dropped: int = 0
    packets: int = 0
    lost: dict[str, int] = field(default_factory=dict)
    seconds: float = 0.0
    worst_late: float = 0.0


@dataclass(frozen=True, slots=True)
class _Run:
    """How long a play lasts, and when it began."""

    loop: bool
    stop: Callable[[], bool]
    begun: float | None


class Stream:
    """Plays frames into a sender.

    Parameters
    ----------
    source, routes
        Who sends, and what goes where.
    sender
        Takes the packets; the stream doesn't close it.
    options
        How it is sent; may be replaced between one `play` and the next.
    clock
        The machine's by default.
    notify
        Called with a sentence when packets are lost, when that is over, and when frames are late.
    losses
        Called instead about packets that are lost.
    """

    def __init__(
        self,
        source: Source,
        routes: Routes,
        sender: Sender,
        options: StreamOptions = StreamOptions(),
        *,
        clock: Clock | None = None,
        notify: Callable[[str], None] = lambda _: None,
        losses: Callable[[str], None] | None = None,
    ) -> None:
        self._source, self._routes, self.options = source, routes, options
        self._losses = losses or notify
        self._sender, self._clock, self._notify = sender, clock or SystemClock(), notify
        way, sync = routes.way, options.sync
        self._sync = bytearray(sync_packet(source.cid, sync)) if sync and way is E131 else None
        self._after = way.after(PacketOptions(sync, routes.apart))
        self._everyone = list(dict.fromkeys(a for to in routes.data for a in to))
        self._discovery = way.announce(source, routes.universes)
        self._discover_at = -math.inf
        self._losing_since: float | None = None
        self._last_loss = -math.inf
        self._lost = 0
        self._sequence: NDArray[np.int64] | None = None  # continues from one show to the next
        #: Called with the moment at which the first frame is due, as soon as that is known.
        self.begins: Callable[[float], None] = lambda _: None
        self.report = Report()

    def play(
        self,
        frames: FrameSet,
        *,
        loop: bool = False,
        stop: Callable[[], bool] = lambda: False,
        close: bool | Callable[[], bool] = True,
        dark: bool = True,
        begun: float | None = None,
    ) -> Report:
        """Play to the end, or in a loop until ``stop`` returns true.

        Parameters
        ----------
        close
            End with three black frames and three stream-terminated packets per universe; a
            function is called at the end.
        dark
            Without it, closing leaves out the black frames: somebody else sends from now on.
        begun
            When the first frame was due, by the stream's clock; now by default. A show that began
            earlier is joined at the frame that is due.
        """
        with no_garbage_collection():
            start = self._clock.now()
            rate = pace(frames.fps, fast=self.options.fast)
            blocks = self._blocks(rate)
            self._play(frames, rate, blocks, _Run(loop, stop, begun))
            if closing := close() if callable(close) else close:
                self._close(blocks, rate, dark=dark)
            self._sequence = blocks.sequence
            if closing and self._losing_since is not None:
                self._report_lost("stopped while packets were being lost", self._clock.now())
            self.report.lost = dict(self._sender.lost)
            self.report.seconds += self._clock.now() - start
        return self.report

    def _play(self, frames: FrameSet, rate: Pace, blocks: PacketBlocks, run: _Run) -> None:
        flat, count, begun = frames.flat(), len(frames.codes), run.begun
        ticks = math.inf if run.loop else math.ceil(count / rate.step) * rate.repeat
        tick, length, again = 0, blocks.length, False
        if begun is not None:
            self.begins(begun)
            tick = max(0, math.floor((self._clock.now() - begun) * rate.rate))
        while tick < ticks and not run.stop():
            end = int(min(tick + length, ticks))
            block = blocks.build(flat[[rate.frame(i) % count for i in range(tick, end)]])
            if begun is None:  # only now, so that building doesn't make the first frame late
                begun = self._clock.now()
                self.begins(begun)
            played = 0
            for packets in block:
                late = self._wait(begun + tick / rate.rate)
                if run.stop():
                    break
                # Drop the missed frames, continue with the one due now, which is then sent anyhow.
                if late > 1 / rate.rate and (played or not again):
                    missed = int(min(int(late * rate.rate), ticks - tick))
                    self._report_late(late, missed)
                    tick += missed
                    break
                self._send(packets)
                self.report.frames += 1
                tick, played = tick + 1, played + 1
            if again := played < len(block):
                blocks.rewind(played)
            length = max(1, length // 2) if again else min(length + 1, blocks.length)
        if begun is not None and tick >= ticks and not run.stop():
            self._wait(begun + tick / rate.rate)  # the last frame is shown as long as the others

    def _blocks(self, rate: Pace) -> PacketBlocks:
        return PacketBlocks(
            self._source,
            self._routes,
            rate.rate,
            self.options,
            length=max(8, min(64, round(rate.rate * _AHEAD))),
            sequence=self._sequence,
        )

    def _wait(self, due: float) -> float:
        """Wait until ``due``; return how late it is then (s)."""
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
        if self._after is not None and packets:
            for address in self._everyone:
                send(self._after, address)
        now = self._clock.now()
        if self._routes.discovery and now - self._discover_at >= DISCOVERY_SECONDS:
            self._discover_at = now
            for page in self._discovery:
                send(page, self._routes.discovery)
        if packets:
            self._watch(failed, now)

    def _close(self, blocks: PacketBlocks, rate: Pace, *, dark: bool) -> None:
        begun = self._clock.now()
        for i, packets in enumerate(blocks.closing(dark=dark)):
            self._wait(begun + i / rate.rate)
            self._send(packets)

    def _watch(self, failed: int, now: float) -> None:
        """Report losses once when they begin and once when they end."""
        if failed:
            if self._losing_since is None:
                self._losing_since = now
                self._losses(f"packets are being lost: {_reasons(self._sender)}; continuing")
            self._last_loss, self._lost = now, self._lost + failed
        elif self._losing_since is not None and now - self._last_loss >= _RECOVERED:
            self._report_lost("the network is back", self._last_loss)

    def _report_lost(self, what: str, until: float) -> None:
        since = self._losing_since or 0.0
        self._losses(f"{what}: {self._lost:,} packets lost in {until - since:.1f} s")
        self._losing_since, self._lost = None, 0

    def _report_late(self, late: float, missed: int) -> None:
        self.report.dropped += missed
        if late >= _RECOVERED:  # shorter delays are only counted
            self._notify(f"woke {late:.2f} s late: {missed} frames dropped, back on time")


def _reasons(sender: Sender) -> str:
    return ", ".join(f"{why} ({n})" for why, n in sender.lost.most_common(3))
