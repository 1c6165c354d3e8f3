"""Palettes that come with the package: for every day, and for occasions around the year.

Colours are chosen for LEDs: no browns, greys or blacks, which lights can't show, and no pastels,
which wash out. Customs vary: these are suggestions. The colours of an occasion are common
knowledge, no source.

There are nearly a hundred, and a show has a few: each is made when it is first asked for.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import cached_property, lru_cache

from lumenmap.colour.occasions import (
    early_year,
    every_day,
    late_year,
    national_days,
    thoughtful_days,
)
from lumenmap.colour.palette import Palette


@dataclass(frozen=True)
class Row:
    """A palette by its name and colours, its occasion and time of year, and words that lead to it.

    ``colours`` are CSS colours with a space between them; "steps" after them holds each until the
    next.
    """

    name: str
    occasion: str
    when: str
    colours: str
    words: str = ""

    @cached_property
    def palette(self) -> Palette:
        """The palette, the same whenever it is asked for."""
        stops = _split(self.colours)
        steps = stops[-1] == "steps"
        return Palette(self.name, stops[:-1] if steps else stops, steps=steps)

    @property
    def text(self) -> str:
        """All that it can be found by."""
        return f"{self.name} {self.occasion} {self.when} {self.words}"


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
    return tuple(Row(*row) for row in itertools.chain(*_TABLES))


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
    return {row.name: row.palette for row in rows()}
