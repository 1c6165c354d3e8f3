"""A page as lines of text for a terminal, a row a key, its sentences wrapped beside it.

Where a terminal is too narrow for columns, they stand below each other.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable, Iterator

from lumenmap.reference.page import KEYS, Page, Section

#: The width that a terminal has if nobody says otherwise.
WIDTH = 80
#: Columns but the last are at most so wide; longer values wrap.
_WIDEST = 24
_GAP = 2
#: Columns stand beside each other from this width on.
_NARROW = 72


def lines(page: Page, width: int = WIDTH, bold: Callable[[str], str] = str) -> list[str]:
    """Return a page's lines, none wider than ``width``; ``bold`` marks its headings."""
    out = [bold(page.title)]
    for paragraph in page.lead:
        out += ["", *_wrap(paragraph, width)]
    for section in page.sections:
        out += ["", "", bold(section.title), *_section(section, width)]
    return out


def _section(section: Section, width: int) -> Iterator[str]:
    if section.lead:
        yield from _wrap(section.lead, width, "  ")
    if not section.rows:
        return
    yield ""
    if width < _NARROW:
        yield from _stacked(section, width)
        return
    widths = _widths(section, width - 2)
    if section.columns != KEYS:  # what those hold is plain to see
        yield from _row(section.columns, widths)
        yield "  " + (" " * _GAP).join("-" * w for w in widths)
    for row in section.rows:
        yield from _row(row, widths)


def _stacked(section: Section, width: int) -> Iterator[str]:
    """Yield each row's first cell, and the others below it, named where there are several."""
    plain = section.columns == KEYS or len(section.columns) == 2
    for first, *rest in section.rows:
        cells = list(zip(section.columns[1:], rest, strict=True))
        if section.columns == KEYS:  # a key and its kind of value
            first, cells = f"{first}: {rest[0]}", cells[1:]
        yield from _wrap(first, width, "  ")
        for column, cell in cells:
            if cell:
                yield from _wrap(cell if plain else f"{column}: {cell}", width, "    ")


def _widths(section: Section, width: int) -> list[int]:
    """Return each column's width: what it needs, the last what is left."""
    rows = section.rows if section.columns == KEYS else (section.columns, *section.rows)
    need = [max(1, *(len(row[i]) for row in rows)) for i in range(len(section.columns))]
    *most, last = need
    most = [min(w, _WIDEST) for w in most]
    rest = width - sum(most) - _GAP * len(most)
    return [*most, min(last, rest)]


def _row(cells: tuple[str, ...], widths: list[int]) -> Iterator[str]:
    wrapped = [_wrap(cell, w) or [""] for cell, w in zip(cells, widths, strict=True)]
    for k in range(max(map(len, wrapped))):
        parts = [
            (cell[k] if k < len(cell) else "").ljust(w)
            for cell, w in zip(wrapped, widths, strict=True)
        ]
        yield ("  " + (" " * _GAP).join(parts)).rstrip()


def _wrap(text: str, width: int, indent: str = "") -> list[str]:
    """Wrap at spaces only: a name with hyphens, such as an easing's, stays whole."""
    return textwrap.wrap(
        text, width, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False
    )
