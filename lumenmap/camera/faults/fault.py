"""`Fault`: one thing that is wired otherwise than the map says."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

#: What can be wrong: an edge reversed, edges in another order, a line fed from its other end, two
#: lines exchanged, a pixel too many or too few, pixels dark, data that stops, the colours' order.
Kind = Literal[
    "reversed", "order", "other end", "swapped", "too many", "too few", "dark", "stops", "colours"
]


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault.

    Attributes
    ----------
    kind
        What is wrong.
    lines
        The data lines that it is on.
    edges
        The edges that it is on.
    pixels
        Pixels of the house (from 0) to show in the picture.
    words
        What is there, in a sentence or two.
    change
        What to write into the house file, or to do; lines of text.
    """

    kind: Kind
    lines: tuple[str, ...]
    edges: tuple[str, ...]
    pixels: tuple[int, ...]
    words: str
    change: tuple[str, ...] = ()
