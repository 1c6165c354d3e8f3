"""Films as frames with the times that they carry, by PyAV; brightness only, unless asked."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.camera.extra import pyav
from lumenmap.core.errors import InputError
from lumenmap.core.regular import open_regular

#: The longest film that is read (s), and its largest and smallest side in pixels.
LONGEST, LARGEST, SMALLEST = 300.0, 4096, 320
#: Containers that phones and cameras write, as FFmpeg names them.
FORMATS = ("mov", "matroska")
#: What an MP4 or MOV says after its first four bytes; its contents' table may stand at the end
#: (ISO/IEC 14496-12) [P].
_BEGINS = b"ftyp"
#: Black is 16, and a little more where a film was compressed; narrower bars do no harm (pixels);
#: how much of a bar's edge must be lit, and of the picture between bars.
BLACK, NARROWEST, STRAIGHT, PICTURE = 20, 4, 0.6, 0.3
#: What FFmpeg calls codes of 0 to 255, as many phones write them; and these as codes of 16 to 235.
_FULL = 2
_NARROWED = np.rint(16 + np.arange(256) * 219 / 255).astype(np.uint8)
#: Pixels that aren't square by more than this bend the picture.
SQUARE = 0.01


#: How wide black bars are, that programs put beside or above a film of another shape (pixels): at
#: left and right, and above and below.
Bars = tuple[int, int]


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """A frame: ``time`` (s), ``bright`` (H, W) uint8 luma; `colours` decodes the rest.

    Both stand upright: a phone that is held the other way round only notes so in the film.
    """

    time: float
    bright: NDArray[np.uint8]
    raw: Any
    bars: Bars = (0, 0)

    def colours(self) -> NDArray[np.uint8]:
        """Return (H, W, 3) sRGB codes."""
        return _within(_upright(self.raw.to_ndarray(format="rgb24"), self.raw), self.bars)


def film_frames(path: Path, bars: Bars = (0, 0)) -> Iterator[Frame]:
    """Yield the frames of a film, without black bars at its rims.

    Raises
    ------
    InputError
        Not a film, damaged, too long or too large; or PyAV isn't installed.
    """
    av = pyav()
    try:
        with contextlib.ExitStack() as stack:
            data = stack.enter_context(open_regular(path))
            box = stack.enter_context(_opened(av, data, path))
            stream = box.streams.video[0]
            stream.thread_type = "AUTO"
            for frame in _frames(box, stream, path):
                inner = _within(frame.bright, bars)
                yield replace(frame, bright=inner, bars=bars) if any(bars) else frame
    except FileNotFoundError:
        raise InputError("no such film", file=path) from None
    except (av.error.FFmpegError, OSError, ValueError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError(f"can't be read as a film: {error}", file=path) from None


def _opened(av: Any, data: Any, path: Path) -> Any:
    for name in FORMATS:
        data.seek(0)
        with contextlib.suppress(av.error.FFmpegError):
            box = av.open(data, format=name)
            if box.streams.video:
                return box
            box.close()
            raise InputError("has no picture in it; expected a film", file=path)
    data.seek(0)
    if data.read(8)[4:] == _BEGINS:
        raise InputError(
            "can't be read as a film: it is cut short or damaged; copy it once more from the phone",
            file=path,
        )
    raise InputError("isn't a film that phones write; expected MP4, MOV or MKV", file=path)


def _frames(box: Any, stream: Any, path: Path) -> Iterator[Frame]:
    first: float | None = None
    shape = float(stream.sample_aspect_ratio or 1)
    if abs(shape - 1) > SQUARE:
        raise InputError(
            f"has pixels {shape:.2f} times as wide as high; export it with square ones", file=path
        )
    for frame in box.decode(stream):
        if max(frame.width, frame.height) > LARGEST or min(frame.width, frame.height) < SMALLEST:
            raise InputError(
                f"is {frame.width} × {frame.height} pixels; expected {SMALLEST} to {LARGEST} for "
                "each side",
                file=path,
            )
        if frame.time is None:
            raise InputError("has frames without a time; export it again as MP4", file=path)
        first = frame.time if first is None else first
        time = float(frame.time) - float(first)
        if time > LONGEST:
            raise InputError(f"is longer than {LONGEST:g} s; cut it to the blinking", file=path)
        yield Frame(time, _luma(frame), frame)


def bars_of(brightest: NDArray[np.uint8]) -> Bars:
    """Return the bars of a film, by how bright each pixel (H, W) ever is: as wide at both sides.

    A night's sky may be as black, but isn't cut: the lens's axis must stay in the middle.
    """
    lit: NDArray[np.bool_] = np.greater(brightest, BLACK)
    rows, columns = np.flatnonzero(lit.any(1)), np.flatnonzero(lit.any(0))
    if not len(rows):
        return 0, 0
    inner = lit[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    if inner.mean() < PICTURE:  # it is so dark that only lights are seen
        return 0, 0
    h, w = lit.shape
    wide = min(int(columns[0]), w - 1 - int(columns[-1]))
    high = min(int(rows[0]), h - 1 - int(rows[-1]))
    return (
        wide if wide >= NARROWEST and _straight(inner, wide == columns[0]) else 0,
        high if high >= NARROWEST and _straight(inner.T, high == rows[0]) else 0,
    )


def _straight(inner: NDArray[np.bool_], first: bool) -> bool:
    """Return whether what is lit ends in a straight edge, at its first or last columns."""
    edge = inner[:, :NARROWEST] if first else inner[:, -NARROWEST:]
    return bool(np.mean(edge.any(1)) > STRAIGHT)


def _within(picture: NDArray[np.uint8], bars: Bars) -> NDArray[np.uint8]:
    """Return a picture (H, W, …) without its bars."""
    x, y = bars
    h, w = picture.shape[:2]
    return np.ascontiguousarray(picture[y : h - y, x : w - x]) if x or y else picture


def _luma(frame: Any) -> NDArray[np.uint8]:
    """Return (H, W) codes of 16 to 235, of films with ten bits too (ITU-R BT.2100 [P])."""
    plane = frame.planes[0]
    whole = frame.color_range == _FULL or frame.format.name.startswith("yuvj")
    if frame.format.name == "yuv420p10le":
        wide = np.frombuffer(plane, np.uint16).reshape(-1, plane.line_size // 2) >> 2
        found = wide[: frame.height, : frame.width].astype(np.uint8)
    elif frame.format.name in ("yuv420p", "yuvj420p", "nv12"):
        rows = np.frombuffer(plane, np.uint8).reshape(-1, plane.line_size)
        found = rows[: frame.height, : frame.width].copy()
    else:  # grey is converted to codes of 0 to 255, whatever the film's are
        found, whole = frame.to_ndarray(format="gray"), True
    return _upright(_NARROWED[found] if whole else found, frame)


def _upright(picture: NDArray[np.uint8], frame: Any) -> NDArray[np.uint8]:
    """Return a picture (H, W, …) turned as the film says it is to be shown."""
    turns = round(frame.rotation / 90) % 4  # counterclockwise
    return np.ascontiguousarray(np.rot90(picture, turns)) if turns else picture
