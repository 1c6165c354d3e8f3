"""Patterns that answer questions on the ladder: which pixel, which way, which edge, which colour.

Each is light like any other, so the limiter holds for it too; and each comes with the words that
say what to look for.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.units import show_length
from lumenmap.pixels.pixelmap import LineSpan, PixelMap

Light = NDArray[np.float32]

#: Bright enough to see by day from a ladder, dim enough to look into from an arm's length
#: (common practice, no source); and the most that may be asked for.
BRIGHTNESS, MOST_BRIGHTNESS = 0.1, 0.3
FPS = 10.0
#: Colours that are told apart by their names, linear R, G, B.
_COLOURS = {
    "red": (1, 0, 0),
    "green": (0, 1, 0),
    "blue": (0, 0, 1),
    "yellow": (1, 0.55, 0),
    "cyan": (0, 0.8, 0.8),
    "magenta": (0.9, 0, 0.6),
    "white": (0.6, 0.6, 0.6),
}


@dataclass(frozen=True, slots=True, eq=False)
class Pattern:
    """Light (T, N, C) in canonical channel order at `FPS`, and what to look for, line by line."""

    light: Light
    words: list[str]


def locate(
    pixelmap: PixelMap,
    question: str,
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
        ``pixel``, ``count``, ``walk``, ``edges`` or ``order``.
    pixel
        For ``pixel``: its number on its line, from 1 where the data enters.
    line
        The data line; all of them if empty.
    brightness
        0..0.3 of full output.
    unit
        The length unit that the words are in.

    Raises
    ------
    InputError
        No such question, line or pixel, or too bright.
    """
    if question not in QUESTIONS:
        raise InputError(unknown("question", question, QUESTIONS))
    if not 0 < brightness <= MOST_BRIGHTNESS:
        raise InputError(
            f"brightness is {brightness:g}; more than 0, at most {MOST_BRIGHTNESS:g} "
            "is wanted: somebody looks at it from a ladder"
        )
    known = {span.name: span for span in pixelmap.lines}
    if line and line not in known:
        raise InputError(unknown("line", line, known))
    spans = [known[line]] if line else list(pixelmap.lines)
    made = QUESTIONS[question](pixelmap, spans, _Asked(pixel, unit))
    return Pattern(np.float32(brightness) * made.light, made.words)


@dataclass(frozen=True, slots=True)
class _Asked:
    """The pixel asked for, and the unit of the answer."""

    pixel: int
    unit: str


def _dark(pixelmap: PixelMap, frames: int) -> Light:
    return np.zeros((frames, len(pixelmap), pixelmap.kind.channels), np.float32)


def _pixel(pixelmap: PixelMap, spans: list[LineSpan], asked: _Asked) -> Pattern:
    pixel = asked.pixel
    light, words = _dark(pixelmap, 10), []
    for span in spans:
        if not 1 <= pixel <= span.count:
            raise InputError(
                f"pixel is {pixel}; the line has pixels 1 to {span.count}",
                key=f'line "{span.name}"',
            )
        at = span.first + pixel - 1
        for near, colour in ((-1, "blue"), (1, "green")):
            if span.first <= at + near < span.first + span.count:
                light[:, at + near, :3] = 0.3 * np.array(_COLOURS[colour])
        light[:6, at, :3] = _COLOURS["white"]  # it blinks once a second
        words += [
            f"line {span.name}: pixel {pixel} blinks white {_where(pixelmap, at, asked.unit)}",
            "  dim blue is the one before it on the wire, dim green the one after",
        ]
    return Pattern(light, words)


def _where(pixelmap: PixelMap, at: int, unit: str) -> str:
    edge = int(pixelmap.edge[at])
    if edge < 0 or not pixelmap.lit[at]:
        return "(a spare: it is hidden)"
    along = show_length(float(pixelmap.along_edge[at]), unit)
    return f"on {pixelmap.edge_names[edge]}, {along} from its start"


def _count(pixelmap: PixelMap, spans: list[LineSpan], asked: _Asked) -> Pattern:
    del asked
    light = _dark(pixelmap, 10)
    for span in spans:
        number = np.arange(1, span.count + 1)
        for every, colour in ((10, "green"), (50, "red"), (100, "white")):
            light[:, span.first + number[number % every == 0] - 1, :3] = _COLOURS[colour]
        light[:, span.first, :3] = _COLOURS["blue"]
    return Pattern(
        light,
        [
            "blue: pixel 1, where the data enters",
            "green: every 10th pixel",
            "red: every 50th",
            "white: every 100th",
        ],
    )


def _walk(pixelmap: PixelMap, spans: list[LineSpan], asked: _Asked) -> Pattern:
    del asked
    light = _dark(pixelmap, max(span.count for span in spans) + 10)
    words = []
    for span in spans:
        for t in range(span.count):
            for back, share in ((0, 1.0), (1, 0.3), (2, 0.1)):
                if t >= back:
                    light[t, span.first + t - back, :3] = share * np.array(_COLOURS["white"])
        words.append(f"line {span.name}: the dot walks")
        words += [f"  {i}. {edge}" for i, edge in enumerate(_edges_on(pixelmap, span), 1)]
    return Pattern(light, [*words, "it ends dark for a second, then starts again at pixel 1"])


def _edges_on(pixelmap: PixelMap, span: LineSpan) -> list[str]:
    """Return the edges in the order the data meets them, their pixels and which way along."""
    out = []
    edge = pixelmap.edge[span.slice]
    along = pixelmap.along_edge[span.slice]
    starts = [i for i in range(span.count) if i == 0 or edge[i] != edge[i - 1]]
    for i, j in zip(starts, [*starts[1:], span.count], strict=True):
        if edge[i] >= 0:
            way = "from its end to its start" if along[j - 1] < along[i] else "from start to end"
            name = pixelmap.edge_names[int(edge[i])]
            out.append(f"pixels {i + 1} to {j}: {name}, {way}")
    return out or ["no edge"]


def _edges(pixelmap: PixelMap, spans: list[LineSpan], asked: _Asked) -> Pattern:
    del asked
    light, words = _dark(pixelmap, 10), []
    rows = np.concatenate([np.arange(s.first, s.first + s.count) for s in spans])
    used = [int(e) for e in dict.fromkeys(pixelmap.edge[rows].tolist()) if e >= 0]
    names = list(_COLOURS)[:6]
    for k, edge in enumerate(used):
        here = rows[pixelmap.edge[rows] == edge]
        colour = names[k % len(names)]
        blinks = k // len(names)  # beyond six the colours come again, blinking
        light[:, here, :3] = np.array(_COLOURS[colour]) * 0.5
        if blinks:
            light[1 :: 2 if blinks == 1 else 3, here, :3] = 0
        first = here[np.argsort(pixelmap.along_edge[here])[:3]]
        light[:, first, :3] = _COLOURS["white"]
        words.append(
            f"{pixelmap.edge_names[edge]}: {colour}{' blinking' if blinks else ''}, "
            "white at its start"
        )
    return Pattern(light, words)


def _order(pixelmap: PixelMap, spans: list[LineSpan], asked: _Asked) -> Pattern:
    del asked
    channels = pixelmap.kind.channels
    steps, each = channels + 1, 20
    light = _dark(pixelmap, steps * each)
    for span in spans:
        for k, letter in enumerate(span.order):
            # What the wire carries in place k, whatever the house file calls it.
            rows = light[k * each + each // 2 * (k == 0) : (k + 1) * each, span.slice]
            rows[..., "RGBW".index(letter)] = 1
    orders = ", ".join(f"{span.name} {span.order}" for span in spans)
    counted = ("first", "second", "third", "fourth")[:channels]
    return Pattern(
        light,
        [
            "after the dark, every 2 s the wire's " + ", ".join(counted) + " channel alone",
            "the colours you see, in their order, are the order to write in the house file",
            f"the house file says: {orders}",
        ],
    )


#: Each question, and what makes the pattern that answers it.
QUESTIONS: dict[str, Callable[[PixelMap, list[LineSpan], _Asked], Pattern]] = {
    "pixel": _pixel,
    "count": _count,
    "walk": _walk,
    "edges": _edges,
    "order": _order,
}
