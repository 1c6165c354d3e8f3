"""Palettes that come with the package: for every day, and for occasions around the year.

Colours are chosen for LEDs: no browns, greys or blacks, which lights can't show, and no pastels,
which wash out. Customs vary: these are suggestions. The colours of an occasion are common
knowledge, no source.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import lru_cache

from lumenmap.colour.occasions import (
    early_year,
    every_day,
    late_year,
    national_days,
    thoughtful_days,
)
from lumenmap.colour.palette import Palette


@dataclass(frozen=True, slots=True)
class Row:
    """A palette, its occasion and its time of year, and plain words that lead to it."""

    palette: Palette
    occasion: str
    when: str
    words: str = ""

    @property
    def text(self) -> str:
        """All that it can be found by."""
        return f"{self.palette.name} {self.occasion} {self.when} {self.words}"


_TABLES = (
    every_day.ROWS,
    early_year.ROWS,
    late_year.ROWS,
    thoughtful_days.ROWS,
    national_days.ROWS,
)


@lru_cache(maxsize=1)
def rows() -> tuple[Row, ...]:
    """Return the palettes that come with the package, with their occasions."""
    made = []
    for name, occasion, when, text, words in itertools.chain(*_TABLES):
        stops = _split(text)
        steps = stops[-1] == "steps"
        palette = Palette(name, stops[:-1] if steps else stops, steps=steps)
        made.append(Row(palette, occasion, when, words))
    return tuple(made)


def _split(text: str) -> list[str]:
    """Split a row's colours at spaces, but not inside the parentheses of a CSS function."""
    words: list[str] = []
    for word in text.split():
        if words and words[-1].count("(") > words[-1].count(")"):
            words[-1] += " " + word
        else:
            words.append(word)
    return words


def builtin() -> dict[str, Palette]:
    """Return the palettes that come with the package, by name."""
    return {row.palette.name: row.palette for row in rows()}
