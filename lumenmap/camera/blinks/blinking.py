"""`Blinking`: the pictures by which every pixel of a house says its number to a camera.

Strategy: all on and off three times tells the clock. Then passes: in each only every eighth pixel
along the wire is ever lit, so that lit ones stand apart in a film. In a pass each pixel shows its
number in Gray code (Gray, US patent 2,632,058, 1953 [P]) and a parity bit; each bit is followed by
its inverse, so that a pixel is compared with itself, and background and exposure drop out. Then all
in the wire's single colours, one after another, for the channel order.

No picture lasts less than 0.2 s: at most five changes a second, which are fewer than three flashes
(WCAG 2.2, success criterion 2.3.1 [P]).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

#: What a picture shows: nothing, all pixels, a bit of the numbers or its inverse, one channel.
Shows = Literal["off", "on", "bit", "channel"]

#: Frames a second in which the blinking is sent.
FPS = 10.0
#: Lit neighbours stand so many spacings apart.
PASSES = 8
#: Dark before and after (s), the clock's halves (s) and their number, and how long a bit and a
#: channel last (s).
LEAD, HALF, FLASHES, BIT, CHANNEL = 1.0, 0.5, 3, 0.2, 0.6
#: Dark between the parts (s).
PAUSE = 0.4


@dataclass(frozen=True, slots=True)
class Picture:
    """What is shown from ``start`` for ``seconds``; its pass (``turn``), its bit or channel."""

    shows: Shows
    start: float
    seconds: float
    turn: int = -1
    place: int = -1
    inverse: bool = False

    @property
    def stop(self) -> float:
        """When it ends, s."""
        return self.start + self.seconds


@dataclass(frozen=True)
class Blinking:
    """The blinking of ``count`` pixels with so many ``channels``, in ``passes``."""

    count: int
    channels: int = 3
    passes: int = PASSES

    @cached_property
    def bits(self) -> int:
        """Bits of a number within a pass, the parity bit not counted."""
        return max(1, (-(-self.count // self.passes) - 1).bit_length())

    @cached_property
    def codes(self) -> NDArray[np.bool_]:
        """(N, bits + 1): the Gray code of each pixel within its pass, then its parity."""
        number = np.arange(self.count) // self.passes
        gray = number ^ (number >> 1)
        bits = (gray[:, None] >> np.arange(self.bits)) & 1 > 0
        return np.hstack([bits, bits.sum(1, keepdims=True) % 2 > 0])

    @cached_property
    def turns(self) -> NDArray[np.intp]:
        """(N,) the pass in which each pixel is lit."""
        return np.arange(self.count) % self.passes

    @cached_property
    def pictures(self) -> tuple[Picture, ...]:
        """All pictures in order; the dark ones between them are left out."""
        at, made = LEAD, []
        for _ in range(FLASHES):
            made.append(Picture("on", at, HALF))
            at += 2 * HALF
        for turn in range(self.passes):
            for place in range(self.bits + 1):
                for inverse in (False, True):
                    made.append(Picture("bit", at, BIT, turn, place, inverse))
                    at += BIT
        at += PAUSE
        for channel in range(self.channels):
            made.append(Picture("channel", at, CHANNEL, place=channel))
            at += CHANNEL
        return tuple(made)

    @cached_property
    def seconds(self) -> float:
        """Its length, s."""
        return self.pictures[-1].stop + LEAD

    def lit(self, picture: Picture) -> NDArray[np.bool_]:
        """Return (N,) which pixels a picture lights."""
        if picture.shows != "bit":
            return np.full(self.count, picture.shows != "off")
        shown = self.codes[:, picture.place] != picture.inverse
        return np.asarray(shown & (self.turns == picture.turn))

    def light(self, level: float) -> NDArray[np.float32]:
        """Return (T, N, C) light at `FPS`, ``level`` 0..1 of full output."""
        out = np.zeros((round(self.seconds * FPS), self.count, self.channels), np.float32)
        for picture in self.pictures:
            first, stop = round(picture.start * FPS), round(picture.stop * FPS)
            lit = np.flatnonzero(self.lit(picture))
            if picture.shows == "channel":
                out[first:stop, lit, picture.place] = level
            else:
                out[first:stop, lit, :3] = level
        return out

    def numbers(self, turn: int, codes: NDArray[np.bool_]) -> NDArray[np.intp]:
        """Return (K,) the pixels that showed codes (K, bits + 1) in a pass, -1 where none has."""
        number = np.zeros(len(codes), np.intp)
        bit = np.zeros(len(codes), bool)
        for place in reversed(range(self.bits)):
            bit = bit ^ codes[:, place]
            number |= bit.astype(np.intp) << place
        even = codes[:, :-1].sum(1) % 2 > 0
        pixel = number * self.passes + turn
        return np.where((even == codes[:, -1]) & (pixel < self.count), pixel, -1)
