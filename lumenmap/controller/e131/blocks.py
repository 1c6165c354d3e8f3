"""Frames to packets, a block ahead, so that only sending is left when a frame is due.

Strategy: a block is one array (frames, universes, octets) whose headers were filled once. Building
copies slots in, sets each sequence number, and works out which packets need sending at all: data
that stays the same is sent three times and then kept alive (6.6.2). The buffer is reused for the
next block, so the views handed to the socket are made once.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.dither import dimmed
from lumenmap.controller.e131.options import StreamOptions
from lumenmap.controller.e131.packets import Source
from lumenmap.controller.e131.routes import Routes
from lumenmap.controller.e131.way import PacketOptions

#: 6.6.2: unchanged data is sent three times, then every 800 to 1000 ms; the aim is the middle.
UNCHANGED_PACKETS = 3
KEEP_ALIVE_SECONDS = 0.9

Octets = NDArray[np.uint8]


class PacketBlocks:
    """Builds blocks of data packets and keeps the sequence numbers.

    Parameters
    ----------
    source, routes
        Who sends what, by which protocol.
    rate
        Frames/s at which the frames given to `build` follow each other; at least 5, so that a
        keep-alive falls between 0.8 and 1 s.
    options
        How they are sent.
    length
        Most frames per block.
    sequence
        (universes,) the `sequence` of earlier blocks, to continue from.
    """

    def __init__(
        self,
        source: Source,
        routes: Routes,
        rate: float,
        options: StreamOptions = StreamOptions(),
        *,
        length: int = 32,
        sequence: NDArray[np.int64] | None = None,
    ) -> None:
        self.universes = universes = routes.universes
        self._spans = [u.octets for u in universes]
        heads = routes.way.heads(source, universes, PacketOptions(options.sync, routes.apart))
        self._way = routes.way
        self._sizes = [len(head) for head in heads]
        self._brightness, self._rate, self._built = options.brightness, rate, 0
        self._steady = options.steady
        self._gap = max(1, round(KEEP_ALIVE_SECONDS * rate))
        self._packets = np.zeros((length, len(universes), max(self._sizes)), np.uint8)
        for k, head in enumerate(heads):
            self._packets[:, k, : self._sizes[k]] = np.frombuffer(head, np.uint8)
        view = self._packets.data.cast("B")
        size = self._packets.shape[2]
        self._views = [
            [view[(t * len(universes) + k) * size :][:n] for k, n in enumerate(self._sizes)]
            for t in range(length)
        ]
        # Sequence number of each universe's next packet, not yet cut to 8 bits.
        self._next = np.zeros(len(universes), np.int64) if sequence is None else sequence.copy()
        self._last: Octets | None = None  # the frame before the block
        self._stays = np.zeros(max(s.stop for s in self._spans), np.uint8)  # what the pixels show
        self._light: NDArray[np.int64] | None = None  # the sum of each universe's codes in it
        self._sent = np.zeros(len(universes), np.int64)  # packets sent since the data changed
        self._quiet = np.zeros(len(universes), np.int64)  # frames since the last packet

    @property
    def length(self) -> int:
        """Most frames per block."""
        return len(self._packets)

    @property
    def sequence(self) -> NDArray[np.int64]:
        """(universes,) sequence number of each one's next packet, not yet cut to 8 bits."""
        return self._next

    def build(self, frames: Octets) -> list[list[tuple[int, memoryview]]]:
        """Build the packets of the next frames; the previous block becomes invalid.

        Parameters
        ----------
        frames
            (T, N·C) uint8, T at most `length`.

        Returns
        -------
        For each frame, the (universe index, packet) pairs to send.
        """
        self._block, self._stays = frames, frames[-1]
        if self._brightness < 1:
            frames = dimmed(frames, self._brightness, self._built, self._rate)
            self._built += len(frames)
        changed = np.empty((len(frames), len(self.universes)), bool)
        order = self._order(frames)
        for k, span in enumerate(self._spans):
            slots = frames[:, span]
            first = self._way.slots_at
            self._packets[: len(frames), k, first : first + slots.shape[1]] = slots
            changed[1:, k] = (slots[1:] != slots[:-1]).any(axis=1)
            changed[0, k] = self._last is None or bool((slots[0] != self._last[span]).any())
        self._last = frames[-1].copy()
        needed = self._needed(changed)
        # Row t: packets of each universe before frame t, for `rewind`.
        self._before = np.vstack([np.zeros_like(self._next), needed.cumsum(axis=0)])
        at, least, count = self._way.sequence
        self._packets[: len(frames), :, at] = least + (self._next + self._before[:-1]) % count
        self._next += self._before[-1]
        if self._way.seal is not None:
            self._way.seal(self._packets[: len(frames)])
        return [
            [(k, row[k]) for k in turn if due[k]]
            for row, due, turn in zip(self._views, needed, order, strict=False)
        ]

    def _order(self, frames: Octets) -> list[list[int]]:
        """Return the universes of each frame in the order in which they are sent."""
        count = len(self.universes)
        if not self._way.any_order or count < 2:
            return [list(range(count))] * len(frames)
        light = np.stack([frames[:, s].sum(axis=1, dtype=np.int64) for s in self._spans], axis=1)
        before = light[:1] if self._light is None else self._light
        self._light = light[-1:]
        rising = np.diff(np.concatenate([before, light]), axis=0)
        order: list[list[int]] = np.argsort(rising, axis=1, kind="stable").tolist()
        return order

    def _needed(self, changed: NDArray[np.bool_]) -> NDArray[np.bool_]:
        if self._steady:
            return np.ones_like(changed)
        needed = np.empty_like(changed)
        for t, changes in enumerate(changed):
            if self._way.together:
                changes |= changes.any()
            self._sent[changes] = 0
            self._quiet += 1
            needed[t] = (self._sent < UNCHANGED_PACKETS) | (self._quiet >= self._gap)
            self._sent += needed[t]
            self._quiet[needed[t]] = 0
        return needed

    def rewind(self, frame: int) -> None:
        """Drop the block from ``frame`` on; the next packets are sent even if unchanged."""
        self._next += self._before[frame] - self._before[-1]
        self._last = self._light = None
        self._stays = self._block[max(0, frame - 1)]

    def closing(self, *, dark: bool = True) -> list[list[tuple[int, memoryview]]]:
        """Build three black frames, then three that say it is over, if the way can (6.2.6).

        If not ``dark``, the last frame stays, and there are only those that say it is over.
        """
        if not dark:
            return self._terminated(self._stays)
        self._last = None
        black = np.zeros((UNCHANGED_PACKETS, max(s.stop for s in self._spans)), np.uint8)
        blackened = [[(k, memoryview(bytes(p))) for k, p in row] for row in self.build(black)]
        return blackened + self._terminated(black[0])

    def _terminated(self, frame: Octets) -> list[list[tuple[int, memoryview]]]:
        if self._way.end is None:
            return []
        self._last = None
        at, bit = self._way.end
        self._packets[:, :, at] |= bit
        return self.build(np.repeat(frame[None], UNCHANGED_PACKETS, axis=0))
