"""`read_film`: what a film of the blinking shows: spots with numbers, colours, and the dark house.

The film is gone through twice: once for the clock, on cells of the picture, once for the pictures.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.blinks.blinking import PAUSE, Blinking, Picture
from lumenmap.camera.extra import opencv
from lumenmap.camera.film.clock import CELL, Clock, find_clock
from lumenmap.camera.film.frames import Frame, film_frames
from lumenmap.camera.film.spots import Spots, find_spots
from lumenmap.camera.film.still import Still
from lumenmap.colour.transfer import to_linear
from lumenmap.core.errors import InputError

F32 = NDArray[np.float32]
Progress = Callable[[int, int], None]

#: A frame counts for a picture if it lies this far inside it (s): a frame's own time and a rolling
#: shutter's delay, each up to 1/60 s.
INSIDE = 0.034
#: Pictures of groups are half as large at least, and no wider than this (pixels).
HALF, WIDEST = 2, 960


@dataclass(frozen=True, slots=True, eq=False)
class Filmed:
    """What a film shows.

    Attributes
    ----------
    spots
        The spots that blinked numbers.
    blinks
        (passes, H, W) how strongly each place blinked in each pass, codes.
    colours
        (channels, H, W, 3) how much each of the wire's channels added to the dark house, codes.
    dark
        (H, W, 3) the house without light, sRGB codes.
    groups
        (R - 1, h, w) each row's picture of groups less its inverse, smaller: linear brightness, as
        if the exposure had stayed the same.
    clock
        When the blinking started.
    frames, seconds, lost
        Frames, the film's length (s), and frames that couldn't be put in place.
    """

    spots: Spots
    blinks: F32
    colours: F32
    dark: F32
    groups: F32
    clock: Clock
    frames: int
    seconds: float
    lost: int

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.dark.shape[1], self.dark.shape[0]


def read_film(path: Path, blinking: Blinking, progress: Progress | None = None) -> Filmed:
    """Read a film of the blinking.

    Raises
    ------
    InputError
        Not a film, no flashes at its start, or too little of the blinking in it.
    """
    times, cells, reference = _first_look(path)
    clock = _located(path, lambda: find_clock(times, cells, blinking))
    still = Still(reference(clock.start))
    gathered = _Gathered(blinking)
    for count, frame in enumerate(film_frames(path)):
        picture = _picture_at(frame.time - clock.start, blinking)
        if picture is not None:
            move = still.move(frame.bright)
            if move is not None:
                gathered.add(picture, frame, lambda f, m=move: still.onto(f, m))  # type: ignore[misc]
        if progress:
            progress(count + 1, len(times))
    gathered.finish()
    if missing := gathered.missing:
        raise InputError(
            f"{missing} of the blinking's pictures can't be used; hold the phone against a wall or "
            "a post, and film again",
            file=path,
        )
    spots = Spots.together(gathered.spots)
    blinks = np.stack(gathered.blinks)
    dark = gathered.mean("dark")
    colours = np.stack([gathered.mean(k) - dark for k in range(blinking.channels)])
    groups = gathered.groups()
    seconds = float(times[-1])
    return Filmed(spots, blinks, colours, dark, groups, clock, len(times), seconds, still.lost)


def _located(path: Path, find: Callable[[], Clock]) -> Clock:
    try:
        return find()
    except InputError as error:
        raise error.at(file=path) from None


def _first_look(
    path: Path,
) -> tuple[NDArray[np.float64], F32, Callable[[float], NDArray[np.uint8]]]:
    """Return the frames' times, the brightness of their cells, and how to get one near a time."""
    cv = opencv()
    times, cells, part = [], [], 1 / CELL
    for frame in film_frames(path):
        times.append(frame.time)
        small = cv.resize(
            frame.bright.astype(np.float32), None, fx=part, fy=part, interpolation=cv.INTER_AREA
        )
        cells.append(small.ravel())
    if not times:
        raise InputError("has no frames; expected a film", file=path)

    def near(time: float) -> NDArray[np.uint8]:
        for frame in film_frames(path):
            if frame.time >= time + 0.4:  # dark, before the first flash
                return frame.bright
        raise InputError("ends before the blinking starts", file=path)

    return np.array(times), np.array(cells), near


def _picture_at(time: float, blinking: Blinking) -> Picture | None:
    """Return the picture that a frame shows whole; "off" for one between them, None for neither."""
    for picture in blinking.pictures:
        if picture.start + INSIDE <= time <= picture.stop - INSIDE:
            return picture if picture.shows != "on" else None
    first, last = blinking.pictures[0], blinking.pictures[-1]
    if first.start - PAUSE <= time <= first.start - INSIDE or (
        last.stop + INSIDE <= time <= last.stop + PAUSE
    ):
        return Picture("off", 0.0, 0.0)
    return None


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


class _Gathered:
    """Means of the frames of each picture; a pass is worked out when the next begins."""

    def __init__(self, blinking: Blinking) -> None:
        self._blinking = blinking
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
        places = range(self._blinking.bits + 1)
        keys = [(place, inverse) for place in places for inverse in (False, True)]
        if gone := sum(key not in self._sums for key in keys):
            self.missing += gone
            return
        for place in places:
            yield self.mean((place, False)) - self.mean((place, True))
        for key in keys:
            del self._sums[key], self._counts[key]

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
