"""What had another name in earlier versions, as plain data: for messages, and to rewrite old files.

One name has one meaning across all effects: how dark the dark is, is ``least``; from one thing to
the next is ``spacing``; how fast something moves is ``speed``.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, NamedTuple

#: How a value in a file becomes the new one: as it is, or 1 minus it.
Change = Literal["same", "1 - x"]


class Renamed(NamedTuple):
    """An option's new name, and how its value changes."""

    name: str
    value: Change = "same"

    def said(self, effect: str, old: str) -> str:
        """Return one sentence that says what to change."""
        how = "" if self.value == "same" else f", and its value is 1 minus what {old} was"
        return f'{effect} has "{self.name}" in place of "{old}"{how}'


#: Effects: old name to new.
EFFECTS: Mapping[str, str] = {"streak": "brightwake"}

#: Options: the effect's present name and the option's old name, to the new one.
OPTIONS: Mapping[tuple[str, str], Renamed] = {
    ("chase", "soft"): Renamed("taper"),
    ("doublebeat", "spread"): Renamed("speed"),
    ("flakefall", "spread"): Renamed("spacing"),
    ("hearth", "depth"): Renamed("least", "1 - x"),
    ("hearth", "rise"): Renamed("speed"),
    ("lagoon", "size"): Renamed("spacing"),
    ("murmur", "contrast"): Renamed("least", "1 - x"),
    ("picture", "speed"): Renamed("play"),
    ("rings", "fade"): Renamed("reach"),
    ("swath", "heading"): Renamed("direction"),
    ("swath", "length"): Renamed("spacing"),
    ("swath", "trough"): Renamed("least"),
    ("tide", "above"): Renamed("least"),
    ("turnbeam", "width"): Renamed("angle"),
}

#: Keys of a house file: the table and the old name, to the new one; the values stay as they are.
HOUSE_KEYS: Mapping[tuple[str, str], str] = {("mass", "heading"): "rotate"}


def option(effect: str, old: str) -> str | None:
    """Return what to change if an effect's option had this name once, else None."""
    new = OPTIONS.get((effect, old))
    return None if new is None else new.said(effect, old)
