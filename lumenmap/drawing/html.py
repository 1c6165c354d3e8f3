"""A document as one HTML page that needs no other file."""

from __future__ import annotations

import re
from html import escape

from lumenmap.drawing.document import Heading, Part, Picture, Table, Text
from lumenmap.drawing.svg import svg

STYLE = """
body{font:16px/1.45 system-ui,-apple-system,"Segoe UI",Helvetica,Arial,sans-serif;color:#1d2530;
background:#fff;max-width:64rem;margin:2rem auto;padding:0 1rem}
h1{font-size:1.9rem;margin:0 0 .5rem}h2{font-size:1.35rem;margin:2.6rem 0 .5rem;border-top:2px solid
#d7dde3;padding-top:1.2rem}h3{font-size:1.05rem;margin:1.4rem 0 .4rem}
nav{columns:2;margin:1rem 0 0;padding:0}nav a{display:block;color:#0059a3}
p.caution{border-left:4px solid #c4161c;background:#fdf3f2;padding:.5rem .8rem;margin:.5rem 0}
.wide{overflow-x:auto}table{border-collapse:collapse;font-size:.86rem;margin:.6rem 0}
th,td{padding:.22rem .6rem;text-align:left;vertical-align:top}th{border-bottom:2px solid #1d2530}
tbody tr:nth-child(even){background:#f4f6f8}.n{text-align:right;font-variant-numeric:tabular-nums}
svg{width:100%;height:auto;border:1px solid #d7dde3;margin:.6rem 0}
@media screen and (max-width:44rem){.wide svg{width:44rem}}
@media print{body{max-width:none;margin:0;font-size:11px}h2{break-before:page;border:0}
nav{display:none}tr{break-inside:avoid}}
"""


def html(parts: list[Part], title: str) -> str:
    """Return a document as HTML text."""
    heads = [p for p in parts if isinstance(p, Heading)]
    sheets = [p.text for p in heads if p.new_page]
    menu = "".join(f'<a href="#{_id(t)}">{escape(t)}</a>' for t in sheets)
    body = "\n".join(_part(p, first=p is heads[0], menu=menu) for p in parts)
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)}</title><style>{STYLE}</style></head>\n<body>\n{body}\n</body></html>\n"
    )


def _id(text: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")


def _part(part: Part, *, first: bool, menu: str) -> str:
    if isinstance(part, Heading):
        if first:
            return f"<h1>{escape(part.text)}</h1>\n<nav>{menu}</nav>"
        level = "h2" if part.new_page else "h3"
        return f'<{level} id="{_id(part.text)}">{escape(part.text)}</{level}>'
    if isinstance(part, Text):
        kind = ' class="caution"' if part.caution else ""
        lead = f"<b>{escape(part.lead)}</b> " if part.lead else ""
        return f"<p{kind}>{lead}{escape(part.text)}</p>"
    if isinstance(part, Picture):
        return f'<div class="wide">{svg(part.drawing)}</div>'
    return _table(part)


def _table(table: Table) -> str:
    def row(cells: tuple[str, ...], tag: str) -> str:
        kinds = [' class="n"' if i in table.right_aligned else "" for i in range(len(cells))]
        inner = "".join(
            f"<{tag}{kind}>{escape(c)}</{tag}>" for c, kind in zip(cells, kinds, strict=True)
        )
        return f"<tr>{inner}</tr>"

    rows = "\n".join(row(r, "td") for r in table.rows)
    return (
        f'<div class="wide"><table><thead>{row(table.columns, "th")}</thead>\n'
        f"<tbody>{rows}</tbody></table></div>"
    )
