"""`Gathered`: the frames of a film, each added to the mean of the picture that it shows."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.blinks.blinking import Blinking, Picture
from lumenmap.camera.extra import opencv
from lumenmap.camera.film.frames import Frame
from lumenmap.camera.film.spots import Spots, find_spots
from lumenmap.colour.transfer import to_linear

F32 = NDArray[np.float32]

#: Pictures of groups are half as large at least, and no wider than this (pixels).
HALF, WIDEST = 2, 960


def linear_luma(bright: NDArray[np.uint8]) -> F32:
    """Return the linear brightness of luma codes of 16 to 235 (ITU-R BT.709 [P])."""
    table = to_linear(np.clip((np.arange(256.0) - 16) / 219, 0, 1)).astype(np.float32)
    return np.asarray(table[bright], np.float32)


def smaller(picture: F32) -> F32:
    """Return a picture (H, W, …) as much smaller as pictures of groups are, averaged."""
    cv = opencv()
    h, w = picture.shape[:2]
    times = max(HALF, -(-w // WIDEST))
    made: F32 = cv.resize(picture, (w // times, h // times), interpolation=cv.INTER_AREA)
    return made


class Gathered:
    """Means of the frames of each picture; a pass is worked out when the next begins.

    With ``mend`` a picture of a bit that is missing is taken from its inverse.
    """

    def __init__(self, blinking: Blinking, *, mend: bool = False) -> None:
        self._blinking, self._mend = blinking, mend
        self._sums: dict[Any, F32] = {}
        self._counts: dict[Any, int] = {}
        self._turn = -1
        self.spots: list[Spots] = []
        self.blinks: list[F32] = []
        self.missing = 0

    def add(self, picture: Picture, frame: Frame, onto: Callable[[Any], Any]) -> None:
        """Add a frame that shows a picture; ``onto`` moves it into place."""
        if picture.shows == "bit":
            if picture.turn != self._turn:
                self._end_turn()
                self._turn = picture.turn
            self._add((picture.place, picture.inverse), onto(frame.bright))
            return
        self._end_turn()
        if picture.shows == "group":
            row = ("group", picture.place, picture.inverse)
            self._add(row, smaller(linear_luma(onto(frame.bright))))
            return
        key = "dark" if picture.shows == "off" else picture.place
        self._add(key, onto(frame.colours()))

    def _add(self, key: Any, values: NDArray[Any]) -> None:
        cv = opencv()
        if key not in self._sums:
            self._sums[key] = np.zeros(values.shape, np.float32)
            self._counts[key] = 0
        cv.accumulate(values, self._sums[key])
        self._counts[key] += 1

    def mean(self, key: Any) -> F32:
        """Return the mean of what was added under a key."""
        return np.asarray(self._sums[key] / np.float32(self._counts[key]))

    def _end_turn(self) -> None:
        if self._turn < 0:
            return
        bits = list(self._bits())
        if bits:
            spots, blinks = find_spots(np.stack(bits), self._turn, self._blinking)
            self.spots.append(spots)
            self.blinks.append(blinks)
        self._turn = -1

    def _bits(self) -> Iterator[F32]:
        pairs = [((place, False), (place, True)) for place in range(self._blinking.bits + 1)]
        whole = [pair for pair in pairs if self._has(*pair) == 2]
        if gone := sum(2 - self._has(*pair) for pair in pairs):
            mended = (
                self._mend and 2 * len(whole) > len(pairs) and all(self._has(*p) for p in pairs)
            )
            if not mended:
                self.missing += gone
                return
        # A bit and its inverse together light every pixel of the pass once, whatever the bit.
        both = np.sum([self.mean(k) for pair in whole for k in pair], 0) / len(whole) if gone else 0
        for on, off in pairs:
            if on in self._sums and off in self._sums:
                yield self.mean(on) - self.mean(off)
            elif on in self._sums:
                yield np.asarray(2 * self.mean(on) - both, np.float32)
            else:
                yield np.asarray(both - 2 * self.mean(off), np.float32)
        for key in (key for pair in pairs for key in pair if key in self._sums):
            del self._sums[key], self._counts[key]

    def _has(self, *keys: Any) -> int:
        return sum(key in self._sums for key in keys)

    def _rows(self) -> list[Picture]:
        return [p for p in self._blinking.pictures if p.shows == "group"]

    def groups(self) -> F32:
        """Return each row's picture of groups less its inverse, smaller and linear.

        A row and its inverse together light every pixel once: what their sum is more or less than
        other rows' is the exposure's drift.
        """
        rows = sorted({p.place for p in self._rows()})
        if not rows:
            return np.zeros((0, 1, 1), np.float32)
        on, off = (
            np.stack([self.mean(("group", row, inverse)) for row in rows])
            for inverse in (False, True)
        )
        both = on + off
        usual = both.mean(0)
        gain = np.einsum("rhw,hw->r", both, usual) / max(float((usual**2).sum()), 1e-12)
        return np.asarray((on - off) / gain[:, None, None], np.float32)

    def finish(self) -> None:
        """Work out the last pass, and count what is missing."""
        self._end_turn()
        self.missing += self._blinking.passes - len(self.blinks) if not self.missing else 0
        keys: list[Any] = ["dark", *range(self._blinking.channels)]
        keys += [("group", p.place, p.inverse) for p in self._rows()]
        self.missing += sum(key not in self._sums for key in keys)
