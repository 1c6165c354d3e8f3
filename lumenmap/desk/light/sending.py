"""Frames on their way to the controllers, counted for flashes as they go."""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.flashing import FlashCounter
from lumenmap.controller.e131.blocks import PacketBlocks
from lumenmap.controller.e131.routes import Routes
from lumenmap.controller.e131.sender import Sender
from lumenmap.controller.e131.way import PacketOptions
from lumenmap.desk.light.take import CHUNK, Take
from lumenmap.jobs.sampled import seen

Codes = NDArray[np.uint8]

#: After flashes the house stays dark for so long (s).
DARK_SECONDS = 3


class Due(Protocol):
    """Says which frame is due, and when; `lumenmap.desk.light.house` does."""

    def frame(self, same: tuple[int, int]) -> tuple[Take, int, bool] | None:
        """Return a take, a frame of it, and whether flashing was agreed to; None at the end."""
        ...

    def wait(self, due: float) -> float:
        """Wait until ``due``; return the time then."""
        ...

    def dark(self, flashes: bool) -> None:
        """Take note that the house is dark because it flashed, or that it is lit again."""
        ...


class Sending:
    """Frames on their way out of one sender."""

    def __init__(self, sender: Sender, routes: Routes) -> None:
        self._sender, self._routes = sender, routes
        self._after = routes.way.after(PacketOptions(0, routes.apart))
        self._everyone = list(dict.fromkeys(a for to in routes.data for a in to))
        self._chunk: tuple[Take, int, bool] | None = None
        self._codes: Codes = np.zeros((0, 0, 0), np.uint8)
        self._watch: FlashCounter | None = None
        self._quiet = 0

    def send(self, packets: list[tuple[int, memoryview]]) -> None:
        """Send a frame's packets."""
        for k, packet in packets:
            for address in self._routes.data[k]:
                self._sender.send(packet, address)
        if self._after is not None and packets:
            for address in self._everyone:
                self._sender.send(self._after, address)

    def loop(self, light: Due, blocks: PacketBlocks, rate: float, same: tuple[int, int]) -> None:
        """Send the frame that is due, at every tick."""
        due = light.wait(0)
        while (found := light.frame(same)) is not None:
            take, frame, agreed = found
            codes = self._of(take, frame)
            if not agreed and self._flashes(take, codes, rate):
                codes = np.zeros_like(codes)
                light.dark(True)
            elif not agreed and self._quiet == 0:
                light.dark(False)
            self.send(blocks.build(codes.reshape(1, -1))[0])
            due = max(due + 1 / rate, light.wait(due + 1 / rate) - 1 / rate)

    def _of(self, take: Take, frame: int) -> Codes:
        """Return a frame's codes (N, C), in the order of the wire."""
        key = (take, frame // CHUNK, take.final)
        if self._chunk != key:
            first = frame // CHUNK * CHUNK
            self._codes = take.stretch(first, min(first + CHUNK, take.frames)).codes
            self._chunk = key
        codes: Codes = self._codes[frame % CHUNK]
        return codes

    def _flashes(self, take: Take, codes: Codes, rate: float) -> bool:
        """Return whether what is sent has flashed; then it stays dark for a while."""
        if self._watch is None:
            self._watch = FlashCounter(rate, take.project.site.flash_regions)
        if self._quiet:
            self._quiet -= 1
            return True
        spans = [(s.slice, s.order) for s in take.project.site.pixels.lines]
        self._watch.add(seen(take.project, from_wire(codes[None], spans)))
        if self._watch.so_far():
            self._watch, self._quiet = None, int(DARK_SECONDS * rate)
        return self._quiet > 0


def from_wire(codes: Codes, spans: list[tuple[slice, str]]) -> NDArray[np.float32]:
    """Return the light (T, N, C) of codes in each line's own order."""
    light = np.empty(codes.shape, np.float32)
    for rows, order in spans:
        for k, letter in enumerate(order):
            light[:, rows, "RGBW".index(letter)] = codes[:, rows, k]
    light *= np.float32(1 / 255)
    return light
