"""Test patterns that answer a question from the ladder: which pixel, which way, edge or colour.

Each is light like any other, so the limiter applies to it too; and each comes with sentences that
say what to look for.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.lengths import show_about
from lumenmap.pixels.pixelmap import LineSpan, PixelMap

Light = NDArray[np.float32]
Question = Literal["pixel", "count", "walk", "edges", "order"]
QUESTIONS: tuple[Question, ...] = get_args(Question)

#: Bright enough to see by day from a ladder, dim enough to look at from arm's length (common
#: practice, no source); and the brightest allowed.
BRIGHTNESS, MOST_BRIGHTNESS = 0.1, 0.3
FPS = 10.0
#: Colours that are easy to name and to tell apart, linear R, G, B.
_COLOURS = {
    "red": (1, 0, 0),
    "green": (0, 1, 0),
    "blue": (0, 0, 1),
    "yellow": (1, 0.55, 0),
    "cyan": (0, 0.8, 0.8),
    "magenta": (0.9, 0, 0.6),
    "white": (0.6, 0.6, 0.6),
}
_WHITE = np.array(_COLOURS["white"])
#: The marks of `_count`, as on a ruler: every so many pixels, so many on each side are lit too.
_MARKS = ((10, 0), (50, 1), (100, 2))
#: Edges beyond six repeat the colours and blink: (frames on, frames off, in words). Two flashes a
#: second at most; WCAG 2.2, success criterion 2.3.1, allows three.
_BLINKS = (
    (1, 0, ""),
    (10, 10, " blinking once in 2 s"),
    (5, 5, " blinking once a second"),
    (3, 2, " blinking twice a second"),
)


@dataclass(frozen=True, slots=True, eq=False)
class Pattern:
    """Light (T, N, C) in canonical channel order at `FPS`, and what to look for, line by line."""

    light: Light
    words: list[str]


def locate(
    pixelmap: PixelMap,
    question: Question,
    *,
    pixel: int = 1,
    line: str = "",
    brightness: float = BRIGHTNESS,
    unit: str = "m",
) -> Pattern:
    """Make the pattern that answers a question.

    Parameters
    ----------
    question
        ``pixel``: which is number N? ``count``: where are the tens? ``walk``: does each line run
        as mapped? ``edges``: is each edge where it should be? ``order``: which colour comes first?
    pixel
        For ``pixel``: its number on its line, from 1 where the data enters.
    line
        The data line; all lines if empty.
    brightness
        0..0.3 of full output.
    unit
        Length unit of the sentences.

    Raises
    ------
    InputError
        No such question, line or pixel, or too bright.
    """
    if question not in QUESTIONS:
        raise InputError(unknown("question", question, QUESTIONS), key="question")
    if not 0 < brightness <= MOST_BRIGHTNESS:
        raise InputError(
            f"is {brightness:g}; expected more than 0, at most {MOST_BRIGHTNESS:g}: "
            "you'll be standing next to the pixels",
            key="brightness",
        )
    spans = {span.name: span for span in pixelmap.lines}
    if line and line not in spans:
        raise InputError(unknown("line", line, spans), key="line")
    chosen = [spans[line]] if line else list(pixelmap.lines)
    if question == "pixel":
        made = _pixel(pixelmap, chosen, pixel, unit)
    else:
        made = _PATTERNS[question](pixelmap, chosen)
    return Pattern(np.float32(brightness) * made.light, made.words)


def _dark(pixelmap: PixelMap, frames: int) -> Light:
    return np.zeros((frames, len(pixelmap), pixelmap.kind.channels), np.float32)


def _pixel(pixelmap: PixelMap, spans: list[LineSpan], pixel: int, unit: str) -> Pattern:
    light, words = _dark(pixelmap, 10), []
    for span in spans:
        if not 1 <= pixel <= span.count:
            raise InputError(
                f'is {pixel}; line "{span.name}" has pixels 1 to {span.count}', key="pixel"
            )
        at = span.first + pixel - 1
        for near, colour in ((-1, "blue"), (1, "green")):
            if span.first <= at + near < span.first + span.count:
                light[:, at + near, :3] = 0.3 * np.array(_COLOURS[colour])
        light[:6, at, :3] = _WHITE  # it blinks once a second
        words += [
            f"line {span.name}: pixel {pixel} blinks white {_place(pixelmap, at, unit)}",
            "  the pixel before it on the wire is dim blue, the one after it dim green",
        ]
    return Pattern(light, words)


def _place(pixelmap: PixelMap, at: int, unit: str) -> str:
    edge = int(pixelmap.edge[at])
    if edge < 0 or not pixelmap.lit[at]:
        return "(a spare: it is hidden)"
    along = show_about(float(pixelmap.along_edge[at]), unit)
    return f"on {pixelmap.edge_names[edge]}, {along} from its start"


def _count(pixelmap: PixelMap, spans: list[LineSpan]) -> Pattern:
    """Mark tens, fifties and hundreds as a ruler does: in one colour, the rounder the longer."""
    light = _dark(pixelmap, 10)
    for span in spans:
        own = light[:, span.slice, :3]
        for every, reach in _MARKS:
            for middle in range(every - 1, span.count, every):
                own[:, max(0, middle - reach) : middle + reach + 1] = 0.3 * _WHITE
                own[:, middle] = _WHITE
        own[:6, 0] = _WHITE  # it blinks once a second
    return Pattern(
        light,
        [
            "pixel 1, where the data enters, blinks",
            "every 10th pixel is lit, as on a ruler",
            "every 50th has a dim pixel on each side, every 100th two",
        ],
    )


def _walk(pixelmap: PixelMap, spans: list[LineSpan]) -> Pattern:
    light = _dark(pixelmap, max(span.count for span in spans) + 10)
    words = []
    for span in spans:
        for t in range(span.count):
            for back, share in ((0, 1.0), (1, 0.3), (2, 0.1)):
                if t >= back:
                    light[t, span.first + t - back, :3] = share * _WHITE
        words.append(f"line {span.name}: a dot moves along")
        words += [f"  {i}. {edge}" for i, edge in enumerate(_edges_on(pixelmap, span), 1)]
    return Pattern(light, [*words, "all is dark for a second, then it starts again at pixel 1"])


def _edges_on(pixelmap: PixelMap, span: LineSpan) -> list[str]:
    """Return the edges in the order of the data, with their pixels and direction."""
    out = []
    edge = pixelmap.edge[span.slice]
    along = pixelmap.along_edge[span.slice]
    starts = [i for i in range(span.count) if i == 0 or edge[i] != edge[i - 1]]
    for i, j in zip(starts, [*starts[1:], span.count], strict=True):
        if edge[i] >= 0:
            way = "from end to start" if along[j - 1] < along[i] else "from start to end"
            name = pixelmap.edge_names[int(edge[i])]
            out.append(f"pixels {i + 1} to {j}: {name}, {way}")
    return out or ["no edge"]


def _edges(pixelmap: PixelMap, spans: list[LineSpan]) -> Pattern:
    light, words = _dark(pixelmap, 20), []
    rows = np.concatenate([np.arange(s.first, s.first + s.count) for s in spans])
    used = [int(e) for e in dict.fromkeys(pixelmap.edge[rows].tolist()) if e >= 0]
    names = list(_COLOURS)[:6]
    for k, edge in enumerate(used):
        here = rows[pixelmap.edge[rows] == edge]
        colour = names[k % len(names)]
        on, off, blinks = _BLINKS[k // len(names) % len(_BLINKS)]
        shown = np.flatnonzero(np.arange(len(light)) % (on + off) < on)
        light[np.ix_(shown, here, np.arange(3))] = 0.5 * np.array(_COLOURS[colour])
        first = here[np.argsort(pixelmap.along_edge[here])[:3]]
        light[:, first, :3] = _WHITE
        words.append(f"{pixelmap.edge_names[edge]}: {colour}{blinks}, white at its start")
    return Pattern(light, words)


def _order(pixelmap: PixelMap, spans: list[LineSpan]) -> Pattern:
    channels = pixelmap.kind.channels
    steps, each = channels + 1, 20
    light = _dark(pixelmap, steps * each)
    for span in spans:
        for k, letter in enumerate(span.order):
            # The wire's channel k, whatever the house file calls it.
            rows = light[k * each + each // 2 * (k == 0) : (k + 1) * each, span.slice]
            rows[..., "RGBW".index(letter)] = 1
    orders = ", ".join(f"{span.name} {span.order}" for span in spans)
    ordinals = ("first", "second", "third", "fourth")[:channels]
    return Pattern(
        light,
        [
            f"after a dark pause, the wire's {', '.join(ordinals)} channel alone, 2 s each",
            "write the colours you see, in that order, into the house file",
            f"the house file has: {orders}",
        ],
    )


_PATTERNS: dict[Question, Callable[[PixelMap, list[LineSpan]], Pattern]] = {
    "count": _count,
    "walk": _walk,
    "edges": _edges,
    "order": _order,
}
