"""`read_film`: what a film of the blinking shows: spots with numbers, colours, and the dark house.

The film is gone through twice: once for the clock, on cells of the picture, once for the pictures.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.blinks.blinking import HALF, LEAD, PAUSE, Blinking, Picture
from lumenmap.camera.extra import opencv
from lumenmap.camera.film.clock import CELL, Clock, find_clock
from lumenmap.camera.film.frames import Bars, bars_of, film_frames
from lumenmap.camera.film.gathered import Gathered
from lumenmap.camera.film.lights import Lights
from lumenmap.camera.film.spots import Spots
from lumenmap.camera.film.still import Still, moved_onto
from lumenmap.core.errors import InputError

F32 = NDArray[np.float32]
Progress = Callable[[int, int], None]

#: A frame counts for a picture if it lies this far inside it (s): a frame's own time and a rolling
#: shutter's delay, each up to 1/60 s.
INSIDE = 0.034
#: After the start it is still dark, for this long (s).
BEFORE = 0.4


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


def film_memory(path: Path, blinking: Blinking) -> tuple[int, int]:
    """Return about how much memory a film takes: what is kept of it, and more while it is read.

    In bytes; by the size of its first frame.

    Raises
    ------
    InputError
        Not a film.
    """
    frame = next(film_frames(path), None)
    plane = 4 * frame.bright.size if frame is not None else 0
    kept = blinking.passes + 3 * blinking.channels + 3
    groups = sum(p.shows == "group" for p in blinking.pictures) / 4
    return round(kept * plane + groups / 2 * plane), round((3 * blinking.bits + 3 + groups) * plane)


def read_film(path: Path, blinking: Blinking, progress: Progress | None = None) -> Filmed:
    """Read a film of the blinking.

    Raises
    ------
    InputError
        Not a film, no flashes at its start, or too little of the blinking in it.
    """
    times, cells, bars = _first_look(path)
    clock = _located(path, lambda: find_clock(times, cells, blinking))
    round_ = _Round(path, blinking, clock.start, len(times), bars)
    gathered, still = _whole(round_, progress)
    spots = Spots.together(gathered.spots)
    blinks = np.stack(gathered.blinks)
    dark = gathered.mean("dark")
    colours = np.stack([gathered.mean(k) - dark for k in range(blinking.channels)])
    groups = gathered.groups()
    seconds = float(times[-1])
    return Filmed(spots, blinks, colours, dark, groups, clock, len(times), seconds, still.lost)


class _Round(NamedTuple):
    """The blinking in a film of so many ``frames``, with ``bars``: from ``start`` (s) on."""

    path: Path
    blinking: Blinking
    start: float
    frames: int
    bars: Bars

    def near(self, time: float) -> NDArray[np.uint8]:
        """Return the first frame from a time on (s)."""
        for frame in film_frames(self.path, self.bars):
            if frame.time >= time:
                return frame.bright
        raise InputError("ends before the blinking starts", file=self.path)


def _whole(round_: _Round, progress: Progress | None) -> tuple[Gathered, Still | Lights]:
    """Return the pictures of a film, none of them missing, and what moved its frames.

    Where the hand jerked a picture may be missing; it is mended only if there is no other way.
    """

    @cache
    def by_scenery() -> _Moved:
        return _Moved(Still(round_.near(round_.start + BEFORE)), [])

    @cache
    def by_lights() -> _Moved:  # it may be so dark that nothing else is seen
        return _Moved(Lights(round_.near(round_.start + LEAD + HALF / 2)), [])

    missing: list[int] = []
    for mend in (False, True):
        for way in (by_scenery, by_lights):
            gathered = _gathered(round_, way(), progress, mend=mend)
            if not gathered.missing:
                return gathered, way().still
            if mend:  # else it was left at the first one that was missing
                missing.append(gathered.missing)
    raise InputError(
        f"{min(missing)} of the blinking's pictures can't be used; hold the phone against a wall "
        "or a post, and film again",
        file=round_.path,
    )


class _Moved(NamedTuple):
    """What moves frames, and the maps of those it was asked for: most of a reading's work."""

    still: Still | Lights
    known: list[F32 | None]

    def at(self, asked: int, bright: NDArray[np.uint8], lit: bool) -> F32 | None:
        """Return the map of a frame; ``asked`` counts those that show a picture, from 0."""
        if asked == len(self.known):
            self.known.append(self.still.move(bright, lit=lit))
        return self.known[asked]


def _gathered(round_: _Round, moved: _Moved, progress: Progress | None, *, mend: bool) -> Gathered:
    """Return the pictures of a film; it is left as soon as one of them is missing for good."""
    gathered = Gathered(round_.blinking, mend=mend)
    asked, last, used = 0, None, True
    for count, frame in enumerate(film_frames(round_.path, round_.bars)):
        picture = _picture_at(frame.time - round_.start, round_.blinking)
        if picture is not None:
            if picture != last:
                if not (used or mend):  # all frames of the last one are lost
                    gathered.missing += 1
                    return gathered
                last, used = picture, picture.shows != "bit"
            move = moved.at(asked, frame.bright, picture.shows != "off")
            asked += 1
            if move is not None:
                used = True
                gathered.add(picture, frame, lambda f, m=move: moved_onto(f, m))  # type: ignore[misc]
        if gathered.missing:
            return gathered
        if progress:
            progress(count + 1, round_.frames)
    gathered.finish()
    return gathered


def _located(path: Path, find: Callable[[], Clock]) -> Clock:
    try:
        return find()
    except InputError as error:
        raise error.at(file=path) from None


def _first_look(path: Path) -> tuple[NDArray[np.float64], F32, Bars]:
    """Return the frames' times, the brightness of their cells, and the film's black bars."""
    cv = opencv()
    times, cells, part = [], [], 1 / CELL
    brightest: NDArray[np.uint8] | None = None
    for frame in film_frames(path):
        times.append(frame.time)
        small = cv.resize(
            frame.bright.astype(np.float32), None, fx=part, fy=part, interpolation=cv.INTER_AREA
        )
        cells.append(small.ravel())
        brightest = cv.max(frame.bright, brightest) if brightest is not None else frame.bright
    if brightest is None:
        raise InputError("has no frames; expected a film", file=path)
    return np.array(times), np.array(cells), bars_of(brightest)


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
