"""Numbers of pixels on the wiring diagram: in each string, or at the connectors."""

from __future__ import annotations

from itertools import pairwise

from lumenmap.drawing.canvas import GREY, Drawing, TextStyle
from lumenmap.drawing.labels import width_of
from lumenmap.sheets.wires.symbols import DATA

#: Type of numbers at connectors (mm): alone, and with a pixel; the smallest in strings.
ALONE, WITH, SMALLEST = 2.6, 2.3, 1.9
#: A string: its ends on the page (mm), its first and last pixel.
String = tuple[float, float, int, int]


def in_strings(page: Drawing, strings: list[String], middle: float) -> bool:
    """Write each string's pixels in it, all in one size, and the direction of the data.

    Where strings are too narrow for the last pixel, the first of each has to do.

    Returns
    -------
    bool
        Whether there was room for numbers.
    """
    whole = strings[:-1] or strings  # the last may be a short piece of a string
    size, words = 0.0, [""] * len(strings)
    for form in ("{}-{}", "{}…"):
        texts = [form.format(first, last) for *_, first, last in strings]
        size = min(
            (end - x - 7) / width_of(text, 1)
            for (x, end, *_), text in zip(whole, texts, strict=False)
        )
        if size >= SMALLEST:
            words = texts
            break
    for (x, end, _, _), text in zip(strings, words, strict=True):
        # A short last piece may have smaller numbers, rather than none.
        own, fits = min(size, 3.0), (end - x - 7) / width_of(text or "0", 1)
        style = TextStyle(own if fits >= own else max(0.99 * fits, SMALLEST), "middle")
        at, half = (x + end) / 2 - 0.8, width_of(text, style.size) / 2 + 0.5
        if text and end - x - 7 >= 2 * half - 1:
            page.text((at, middle + 0.36 * style.size), text, style)
            page.line([(x + 1.5, middle), (at - half, middle)], DATA, 0.35)
            page.line([(at + half, middle), (end - 1.5, middle)], DATA, 0.35)
        else:
            page.line([(x + 1.5, middle), (end - 1.5, middle)], DATA, 0.35)
        if end - x > 4:
            page.arrow((end - 1.6, middle), (1.0, 0.0), 2.2, DATA)
    return any(words)


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
