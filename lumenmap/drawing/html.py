"""A document as one HTML page that needs no other file.

Boxes can be ticked; a script of a few lines remembers them in the browser. Without it, everything
else works: a drawing opens full size by a link to itself.
"""

from __future__ import annotations

import re
from collections import Counter
from hashlib import sha256
from html import escape
from math import ceil

from lumenmap.core.lengths import unbroken
from lumenmap.drawing.document import Heading, Part, Picture, Table, Text, Ticks
from lumenmap.drawing.html_style import SCRIPT, STYLE
from lumenmap.drawing.svg import svg

#: A hyphen in a figure, such as 16-17: no line ends behind it.
_RANGE = re.compile(r"(?<=\d)-(?=\d)")
#: A table of more columns isn't one on a phone: a row is a block there, in which each cell has the
#: name of its column above it.
_NARROW = 3
#: Places in a line of such a block, and how many letters have room in one.
_PLACES, _LETTERS = 6, 7.5
#: A long text also goes into what is left of a line, if that is at least this many places.
_ROOM = 4
#: What the page may load and run: what is in it.
POLICY = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'"


def html(parts: list[Part], title: str) -> str:
    """Return a document as HTML text."""
    body = "\n".join(_Page(parts).lines())
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'
        f"<title>{escape(title)}</title><style>{STYLE}</style></head>\n"
        f"<body><main>\n{body}\n</main><script>{SCRIPT}</script></body></html>\n"
    )


class _Page:
    """Writes the parts in order; knows which names are taken."""

    def __init__(self, parts: list[Part]) -> None:
        self.parts = parts
        self.ids: Counter[str] = Counter()
        self.keys: Counter[str] = Counter()
        self.sheet = False
        self.last = ""
        heads = Counter(p.text for p in parts[1:] if isinstance(p, Heading))
        #: Headings that a paragraph may lead to: of several words, each there once.
        self.named = [t for t, many in heads.items() if many == 1 and len(t.split()) > 2]

    def lines(self) -> list[str]:
        return [self._part(part, first=i == 0) for i, part in enumerate(self.parts)]

    def _part(self, part: Part, *, first: bool) -> str:
        if isinstance(part, Heading):
            return self._heading(part, first=first)
        if isinstance(part, Text):
            kind = ' class="caution"' if part.caution else ""
            lead = f"<b>{_text(part.lead)}</b> " if part.lead else ""
            return f"<p{kind}>{lead}{self._linked(part.text)}</p>"
        if isinstance(part, Picture):
            return self._picture(part)
        return self._ticks(part) if isinstance(part, Ticks) else self._table(part)

    def _linked(self, text: str) -> str:
        """Return a paragraph's text; the headings that it names lead there."""
        shown = _text(text)
        for name in self.named:
            shown = shown.replace(_text(name), f'<a href="#{_name(name)}">{_text(name)}</a>', 1)
        return shown

    def _heading(self, part: Heading, *, first: bool) -> str:
        own = self._id(part.text)
        self.last = own
        if first:
            return f'<h1 id="{own}">{_text(part.text)}</h1>\n{self._menu()}'
        # A part before the first sheet stands right below the title.
        level = "h2" if part.new_page or not self.sheet else "h3"
        self.sheet = self.sheet or part.new_page
        return f'<{level} id="{own}">{_text(part.text)}</{level}>'

    def _menu(self) -> str:
        names = dict.fromkeys(p.text for p in self.parts if isinstance(p, Heading) and p.new_page)
        links = "".join(f'<a href="#{_name(text)}">{_text(text)}</a>' for text in names)
        boxes = any(isinstance(p, Ticks) or (isinstance(p, Table) and p.ticks) for p in self.parts)
        said = '\n<p class="kept" role="status"></p>' if boxes else ""
        return f'<nav aria-label="Sheets">{links}</nav>{said}'

    def _id(self, text: str) -> str:
        """Return an id that nothing else has: by the text, with a number from the second on."""
        name = _name(text)
        self.ids[name] += 1
        return name if self.ids[name] == 1 else f"{name}-{self.ids[name]}"

    def _picture(self, part: Picture) -> str:
        own = self._id(f"drawing {part.title}")
        label = escape(part.title or "drawing")
        return (
            f'<figure id="{own}"{" class=page" if part.full_page else ""} '
            f'style="--mm:{part.drawing.width:.0f}">'
            f"{_scrolls(label, svg(part.drawing))}"
            f'<a class="open" href="#{own}">Open full size: {label}</a>'
            f'<a class="close" href="#{self.last}">Close</a></figure>'
        )

    def _table(self, table: Table) -> str:
        right, places = table.right_aligned, _places(table)
        rows = "\n".join(self._row(table, row, places) for row in table.rows)
        kind = ' class="rows"' if places else ""
        # Boxes come first, where a phone shows them.
        head = "".join(f'<th class="t">{_text(t)}</th>' for t in table.ticks)
        head += "".join(_cell("th", c, i in right) for i, c in enumerate(table.columns))
        body = f"<table{kind}><thead><tr>{head}</tr></thead>\n<tbody>{rows}</tbody></table>"
        return _scrolls(escape(f"table: {table.name.replace('-', ' ')}"), body)

    def _row(self, table: Table, row: tuple[str, ...], places: list[int]) -> str:
        cells = ""
        for tick in table.ticks:
            name = f"{tick}: {' '.join(c for c in row[:3] if c)}"
            of = _of(tick) if places else ""
            cells += f'<td class="t"{of}>{self._box((table.name, tick, *row), name)}</td>'
        for i, (column, text) in enumerate(zip(table.columns, row, strict=True)):
            of = _of(column, places[i]) if places else ""
            cells += _cell("td", text, i in table.right_aligned, of)
        return f"<tr>{cells}</tr>"

    def _ticks(self, ticks: Ticks) -> str:
        own = self._id(ticks.title)
        items = []
        for t in ticks.items:
            box = self._box((ticks.title, t.name, t.figure))
            note = f"<i>{_text(t.note)}</i>" if t.note else ""
            items.append(
                f"<li><label>{box}<span>{_text(t.name)}</span><b>{_text(t.figure)}</b>{note}"
                "</label></li>"
            )
        button = f'<button type="button" hidden data-clears="{own}">{_text(ticks.again)}</button>'
        return f'<ol class="ticks" id="{own}">{"".join(items)}</ol>\n{button}'

    def _box(self, of: tuple[str, ...], label: str = "") -> str:
        """Return a box to tick, with a key by what it is about: if that changes, it isn't done."""
        digest = sha256("\0".join(of).encode()).hexdigest()[:16]
        self.keys[digest] += 1
        key = digest if self.keys[digest] == 1 else f"{digest}-{self.keys[digest]}"
        named = f' aria-label="{escape(label)}"' if label else ""
        return f'<input type="checkbox" autocomplete="off" data-key="{key}"{named}>'


def _text(text: str) -> str:
    return escape(_RANGE.sub("-\N{WORD JOINER}", unbroken(text)))


def _name(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")


def _places(table: Table) -> list[int]:
    """Return the places in a line that each column takes on a phone; none if it stays a table."""
    if len(table.ticks) + len(table.columns) <= _NARROW:
        return []
    taken, found = len(table.ticks), []
    for name, *texts in zip(table.columns, *table.rows, strict=True):
        letters = max([0.95 * len(name), *map(len, texts)])  # names are in smaller type
        wanted, left = min(ceil(letters / _LETTERS), _PLACES), _PLACES - taken % _PLACES
        found.append(left if wanted > left >= _ROOM else wanted)
        taken = found[-1] + (taken if wanted <= left or left >= _ROOM else 0)
    return found


def _of(column: str, places: int = 1) -> str:
    wide = f' style="--places:{places}"' if places > 1 else ""
    return f' data-of="{_text(column)}"{wide}'


def _cell(tag: str, text: str, right: bool, of: str = "") -> str:
    kind = ' class="n"' if right else ""
    return f"<{tag}{kind}{of}>{_text(text)}</{tag}>"


def _scrolls(label: str, inner: str) -> str:
    """Return what may be wider than the page: it takes focus, so that arrow keys move it."""
    return f'<div class="wide" tabindex="0" role="group" aria-label="{label}">{inner}</div>'
