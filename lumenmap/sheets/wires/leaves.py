"""What leaves a trunk or a bus in the wiring diagram: the fuses and the marks of taps and ties."""

from __future__ import annotations

from lumenmap.drawing.canvas import Drawing, TextStyle
from lumenmap.drawing.labels import width_of
from lumenmap.sheets.wires import symbols
from lumenmap.sheets.wires.bar import Bar
from lumenmap.sheets.wires.blocks import Row

#: Width of a fuse in a tap or tie, and how far up every other one is where they are crowded (mm).
CHIP, STEP = 10.0, 12.0
#: How far over a trunk or bus a fuse and a mark are (mm); size of a mark.
OVER, HIGH, MARK = 11.0, 15.2, 2.6
#: Between a pair and its mark, and room for a mark (mm).
GAP, ROOM = 1.8, 9.0


def draw_leaves(page: Drawing, row: Row, level: float, bar: Bar, ends: tuple[float, float]) -> None:
    """Draw what leaves a trunk or bus over all pairs of its row.

    ``level`` is the height of the trunk or bus, ``ends`` are those of the line's bar (mm).
    """
    places = [
        (bar.marks[leaf.mark], level - STEP * (row.crowded and k % 2))
        for k, leaf in enumerate(row.leaves)
    ]
    for leaf, (x, y) in zip(row.leaves, places, strict=True):
        if leaf.fuse is not None:
            symbols.fuse(page, (x - CHIP / 2, y - OVER), CHIP, leaf.fuse)
    if row.crowded:  # only over its fuse, and over the pair, is there room for a mark
        for leaf, (x, y) in zip(row.leaves, places, strict=True):
            style = TextStyle(MARK, "middle", bold=True, halo=True)
            page.text((x, y - HIGH), leaf.mark, style)
    else:
        _beside(page, row, level - HIGH, bar, ends)


def _beside(page: Drawing, row: Row, y: float, bar: Bar, ends: tuple[float, float]) -> None:
    """Write the marks of taps and ties beside their pairs."""
    taken = ends[1]
    for leaf in reversed(row.leaves):
        x, wide = bar.marks[leaf.mark], width_of(leaf.mark, MARK) + GAP
        before = min((x - at for at in bar.marks.values() if at < x), default=x - ends[0])
        after = min((at - x for at in bar.marks.values() if at > x), default=ends[1] - x)
        left = after < min(before, ROOM)
        # The next one's mark may lie on the left of its pair, and this one's is above it then.
        higher = STEP / 3 if not left and x + wide > taken else 0
        style = TextStyle(MARK, "end" if left else "start", bold=True, halo=True)
        page.text((x - GAP if left else x + GAP, y - higher), leaf.mark, style)
        taken = x - wide if left else x
