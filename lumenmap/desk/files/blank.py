"""What a new show begins with."""

from __future__ import annotations

from lumenmap.desk.files.blocks import literal

#: What a new show begins with: one calm layer on the whole house.
_BLANK = """\
[show]
name = {title}
house = {house}
fps = 30
length = "30 s"
match_screen = true

[[cue]]
name = "first"

[[cue.layer]]
effect = "still"
palette = "candlelight"
"""


def blank_show(title: str, house: str) -> str:
    """Return the text of a new show for a house file."""
    return _BLANK.format(title=literal(title), house=literal(house))
