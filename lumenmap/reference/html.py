"""All pages as one HTML file that needs nothing beside it and reads on a phone."""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape

from lumenmap.reference.page import KEYS, Page, Section

_STYLE = """
:root{color-scheme:light dark;--ink:#1c242e;--paper:#fff;--rule:#d5dce3;--soft:#5a6674;
--code:#f2f5f8;--link:#0a57a0}
@media(prefers-color-scheme:dark){:root{--ink:#e4e9ee;--paper:#14191f;--rule:#333d48;--soft:#9aa7b4;
--code:#1e252d;--link:#7db8f0}}
*{box-sizing:border-box}
body{font:16px/1.5 system-ui,-apple-system,"Segoe UI",Helvetica,Arial,sans-serif;color:var(--ink);
background:var(--paper);margin:0 auto;max-width:76rem;padding:1rem 1.25rem 4rem;
display:grid;grid-template-columns:13rem minmax(0,1fr);gap:0 3rem}
h1{grid-column:1/-1;font-size:1.7rem;margin:.5rem 0 1rem}
nav{position:sticky;top:1rem;align-self:start;max-height:calc(100vh - 2rem);overflow-y:auto;
font-size:.92rem}
nav a{display:block;padding:.15rem 0;color:var(--link);text-decoration:none}
nav a:hover{text-decoration:underline}
h2{font-size:1.4rem;margin:3rem 0 .5rem;padding-top:1rem;border-top:2px solid var(--rule)}
main>section:first-child h2{margin-top:0;border:0;padding-top:0}
h3{font:600 1.02rem/1.4 ui-monospace,Menlo,Consolas,monospace;margin:2rem 0 .3rem}
h3.plain{font-family:inherit}
p{margin:.5rem 0;max-width:46rem;overflow-wrap:break-word}
p.index{line-height:1.9}p.index a{color:var(--link);text-decoration:none;margin-right:.9rem;
white-space:nowrap;font:.88rem ui-monospace,Menlo,Consolas,monospace}
code{font:.88rem/1.5 ui-monospace,Menlo,Consolas,monospace;overflow-wrap:break-word}
table{border-collapse:collapse;width:100%;margin:.6rem 0 0;font-size:.95rem}
table.wide{width:auto;font-size:.9rem}table.wide code{white-space:nowrap}
th{font-weight:600;color:var(--soft);text-align:left}
th,td{padding:.35rem 1rem .35rem 0;vertical-align:top;border-bottom:1px solid var(--rule)}
table.keys td:nth-child(1){width:11rem}table.keys td:nth-child(2){width:15rem;color:var(--soft)}
table.keys td:nth-child(1) code,table.pairs td:nth-child(1) code{font-weight:600}
table.pairs td:nth-child(1){width:14rem}
div.scroll{overflow-x:auto}
@media(max-width:50rem){body{display:block;padding:.5rem 1rem 3rem}
nav{position:static;columns:2;border:1px solid var(--rule);border-radius:.4rem;padding:.5rem .8rem;
max-height:none;margin-bottom:1.5rem}nav a{padding:.35rem 0}
:is(.keys,.pairs),:is(.keys,.pairs) :is(tbody,tr,td){display:block;width:auto!important}
:is(.keys,.pairs) thead{display:none}
:is(.keys,.pairs) tr{border-bottom:1px solid var(--rule);padding:.5rem 0}
:is(.keys,.pairs) td{border:0;padding:0}
.keys td:nth-child(-n+2){display:inline!important;margin-right:.6rem}}
@media print{body{display:block;max-width:none;font-size:11px}nav{display:none}
tr{break-inside:avoid}h3{break-after:avoid}}
"""
#: A page with more sections than this begins with links to them.
_MANY = 6


def html(pages: Sequence[Page], title: str) -> str:
    """Return the file's text."""
    menu = "".join(f'<a href="#{p.topic}">{escape(p.title)}</a>' for p in pages)
    body = "\n".join(map(_page, pages))
    return (
        '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"<title>{escape(title)}</title><style>{_STYLE}</style></head>\n<body>"
        f"<h1>{escape(title)}</h1><nav>{menu}</nav><main>\n{body}\n</main></body></html>\n"
    )


def _page(page: Page) -> str:
    lead = "".join(f"<p>{_marked(p)}</p>" for p in page.lead)
    index = ""
    if len(page.sections) > _MANY:
        links = (
            f'<a href="#{_id(page, s)}">{escape(s.title)}</a> ' for s in page.sections if s.rows
        )
        index = f'<p class="index">{"".join(links)}</p>'
    parts = "\n".join(_section(page, s) for s in page.sections)
    return (
        f'<section id="{page.topic}"><h2>{escape(page.title)}</h2>{lead}{index}\n{parts}</section>'
    )


def _section(page: Page, section: Section) -> str:
    plain = "" if section.columns == KEYS else ' class="plain"'
    head = f'<h3{plain} id="{_id(page, section)}">{escape(section.title)}</h3>'
    lead = f"<p>{_marked(section.lead)}</p>" if section.lead else ""
    return head + lead + (_table(section) if section.rows else "")


def _table(section: Section) -> str:
    keys = {2: "pairs", 3: "keys"}.get(len(section.columns), "wide")
    top = "".join(f'<th scope="col">{escape(c)}</th>' for c in section.columns)
    rows = "\n".join(
        "<tr>" + "".join(_cell(c, i in section.code) for i, c in enumerate(row)) + "</tr>"
        for row in section.rows
    )
    return (
        f'<div class="scroll"><table class="{keys}"><thead><tr>{top}</tr></thead>\n'
        f"<tbody>{rows}</tbody></table></div>"
    )


def _cell(text: str, code: bool) -> str:
    return f"<td><code>{escape(text)}</code></td>" if code else f"<td>{_marked(text)}</td>"


def _marked(text: str) -> str:
    """Return a sentence with what stands in backticks as code."""
    return re.sub(r"`([^`]+)`", r"<code>\1</code>", escape(text, quote=False))


def _id(page: Page, section: Section) -> str:
    return f"{page.topic}-{re.sub(r'[^a-z0-9]+', '-', section.title.lower()).strip('-')}"
