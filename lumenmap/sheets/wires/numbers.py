"""Numbers of pixels on the wiring diagram: in each string, at the connectors, and over the cuts."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from lumenmap.drawing.canvas import GREY, Drawing, TextStyle
from lumenmap.drawing.labels import width_of
from lumenmap.sheets.wires.bar import spread
from lumenmap.sheets.wires.leads import Cut
from lumenmap.sheets.wires.symbols import DATA, PLUS

#: Type of numbers at connectors (mm): alone, and with a pixel; the smallest in strings.
ALONE, WITH, SMALLEST = 2.6, 2.3, 1.9
#: Type of the names of cuts (mm).
NAMED = 3.0
#: A string: its ends on the page (mm), its first and last pixel.
String = tuple[float, float, int, int]


def in_strings(
    page: Drawing, strings: list[String], middle: float, cuts: Sequence[float] = ()
) -> bool:
    """Write each string's pixels in it, all in one size, and the direction of the data.

    Where strings are too narrow for the last pixel, the first of each has to do. No number lies
    on one of the ``cuts`` (mm).

    Returns
    -------
    bool
        Whether there was room for numbers.
    """
    free = [_widest(x, end, cuts) for x, end, *_ in strings]
    whole = free[:-1] or free  # the last may be a short piece of a string
    size, words = 0.0, [""] * len(strings)
    for form in ("{}-{}", "{}…"):
        texts = [form.format(first, last) for *_, first, last in strings]
        size = min(
            (end - x - 7) / width_of(text, 1) for (x, end), text in zip(whole, texts, strict=False)
        )
        if size >= SMALLEST:
            words = texts
            break
    for (x, end, _, _), (low, high), text in zip(strings, free, words, strict=True):
        # A short last piece may have smaller numbers, rather than none.
        own, fits = min(size, 3.0), (high - low - 7) / width_of(text or "0", 1)
        style = TextStyle(own if fits >= own else max(0.99 * fits, SMALLEST), "middle")
        at, half = (low + high) / 2 - 0.8, width_of(text, style.size) / 2 + 0.5
        if text and high - low - 7 >= 2 * half - 1:
            page.text((at, middle + 0.36 * style.size), text, style)
            page.line([(x + 1.5, middle), (at - half, middle)], DATA, 0.35)
            page.line([(at + half, middle), (end - 1.5, middle)], DATA, 0.35)
        else:
            page.line([(x + 1.5, middle), (end - 1.5, middle)], DATA, 0.35)
        if end - x > 4:
            page.arrow((end - 1.6, middle), (1.0, 0.0), 2.2, DATA)
    return any(words)


def _widest(x: float, end: float, cuts: Sequence[float]) -> tuple[float, float]:
    """Return the widest part of a string between its ends and the cuts in it (mm)."""
    marks = [x, *sorted(cut for cut in cuts if x < cut < end), end]
    return max(pairwise(marks), key=lambda part: part[1] - part[0])


def over_cuts(
    page: Drawing, cuts: list[tuple[float, Cut]], y: float, room: tuple[float, float]
) -> list[float]:
    """Name cuts over their places (mm), side by side, in as many words as there is room for.

    The names lie between the ends of ``room`` (mm). Return the middle of each.
    """
    texts, wide = list[str](), list[float]()
    for form in ("{0}: plus only, {1} | {2}", "{0}: {1} | {2}", "{0}"):
        texts = [form.format(cut.mark, cut.pixel, cut.pixel + 1) for _, cut in cuts]
        wide = [width_of(text, NAMED) + 2 for text in texts]
        if sum(wide) <= room[1] - room[0]:
            break
    style = TextStyle(NAMED, "middle", PLUS, bold=True, halo=True)
    wished = [(x, w) for (x, _), w in zip(cuts, wide, strict=True)]
    places = spread(wished, room[0] + wide[0] / 2, room[1] - wide[-1] / 2) if cuts else []
    for x, text in zip(places, texts, strict=True):
        page.text((x, y), text, style)
    return places


def at_connectors(page: Drawing, xs: list[float], size: int, y: float) -> bool:
    """Write the numbers of the connectors at ``xs``, from 2.

    With the first pixel behind each, if ``size`` isn't 0: so many pixels are in a string. Return
    whether there was room for that.
    """
    numbers = range(2, len(xs) + 2)
    words = [f"{n}: {size * (n - 1) + 1}" for n in numbers]
    apart = min((b - a for a, b in pairwise(xs)), default=20.0) - 0.8
    fits = bool(size and words) and apart >= width_of(max(words, key=len), WITH)
    style = TextStyle(WITH if fits else ALONE, "middle", GREY)
    for n, text, x in zip(numbers, words, xs, strict=True):
        page.text((x, y), text if fits else str(n), style)
    return fits
