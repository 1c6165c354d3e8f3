"""Hints for text that isn't TOML: the line with a mark under it, and what to write instead."""

from __future__ import annotations

import re
from collections.abc import Sequence

from lumenmap.core.errors import one_edit

_CURLY = re.compile("[“”„‟‘’‚«»]")
#: How the parser's message begins, what stands at the place that it names, and what to write there.
_SAID = (
    ("Unclosed array", r"[\w-]+\s*=|\[\[?[A-Za-z]|\}|$", "] is missing before what is marked"),
    ("Unclosed inline table", r"\]|$", "} is missing before what is marked"),
    ("Unclosed", "", "a comma is missing before what is marked"),
    ("Expected newline", r"[\w-]+\s*=", "write each key on a line of its own"),
    ("Expected newline", r"[\]})]", "there is one bracket too many"),
    ("Expected '='", "", "expected = after a key, as in: width = 24"),
    ("Expected ']]'", "", "a heading that begins with [[ ends with ]]"),
    ("Expected ']'", "", "a heading that begins with [ ends with ]"),
    ("Invalid initial character for a key", r"\}", "leave out the comma before }"),
    ("Invalid initial character for a key", "$", "a table in { } must be on one line"),
    ("Invalid value", "$", "the value is missing after ="),
    ("Cannot overwrite a value", "", "this key is there twice; leave one of them out"),
)
#: So many characters of a line are shown.
_WIDE = 96


def explain(text: str, said: str) -> tuple[str, str]:
    """Return what is wrong with a text that isn't TOML, and the place to look at.

    Parameters
    ----------
    text
        The file.
    said
        The parser's message.

    Returns
    -------
    tuple of str
        A sentence; and two lines, the text's own and one with a caret, or the empty string if the
        parser's message gives no place.
    """
    lines = text.replace("\r\n", "\n").split("\n")
    if m := re.search(r"Cannot declare \((.+)\) twice \(at line (\d+)", said):
        name, row = ".".join(re.findall(r"'([^']+)'", m[1])), int(m[2])
        excerpt = _marked(lines[row - 1], row, 1) if row <= len(lines) else ""
        return f"line {row}: [{name}] is there twice; {_one_of(name, lines)}", excerpt
    if m := re.search(r"\(at line (\d+), column (\d+)\)", said):
        row, column = int(m[1]), int(m[2])
    elif said.endswith("(at end of document)"):
        row = max((i for i, line in enumerate(lines, 1) if line.strip()), default=1)
        column = len(lines[row - 1]) + 1
    else:
        return said, ""
    line = lines[row - 1]
    hint = _hint(line, column - 1) or _meant(said, line[column - 1 :].strip())
    if said.startswith("Cannot overwrite a value"):
        hint = _several(line, lines[: row - 1]) or hint
    return (f"line {row}: {hint}" if hint else said), _marked(line, row, column)


def _one_of(name: str, lines: Sequence[str]) -> str:
    """Return what to do about a heading that is there twice."""
    first = name.partition(".")[0]
    if "." in name and not any(re.match(rf"\s*\[\[\s*{re.escape(first)}\b", x) for x in lines):
        return "rename one of them, or make them one"
    return f"if there are several, write [[{name}]]"


def _several(line: str, above: Sequence[str]) -> str:
    """Return what to write where ``[[name]]`` can't stand, or the empty string."""
    if not (m := re.match(r"\s*\[\[\s*([\w.-]+)\s*\]\]", line)):
        return ""
    for row, other in enumerate(above, 1):
        if re.match(rf"\s*\[\s*{re.escape(m[1])}\s*\]", other):
            return f"[{m[1]}] on line {row} is one of several; write [[{m[1]}]] there too"
        if found := re.match(rf"\s*(\[\[?\s*{re.escape(m[1])}\.[\w.-]+\s*\]\]?)", other):
            return f"{found[1]} on line {row} stands before the first [[{m[1]}]]; put it below one"
    return ""


def _marked(line: str, row: int, column: int) -> str:
    cut = max(0, column - _WIDE + 8)
    # A file may hold anything; a terminal must not obey it.
    shown = "".join(c if c.isprintable() else " " for c in line[cut : cut + _WIDE])
    head = f"  {row} | "
    return f"{head}{shown}\n{' ' * (len(head) - 2)}| {' ' * (column - 1 - cut)}^"


def _meant(said: str, rest: str) -> str:
    """Return what to write by what the parser says, and what stands at the place that it names."""
    found = (hint for start, at, hint in _SAID if said.startswith(start) and re.match(at, rest))
    return next(found, "")


def _hint(line: str, at: int) -> str:
    """Return what to write where a value isn't TOML, or the empty string."""
    if _CURLY.search(line):
        return "use straight quotes, \" or '"
    start = max(line.rfind(c, 0, at) for c in "=[{,") + 1
    if not start or (line.lstrip()[:1] == "[" and "=" not in line):  # a table's heading
        return ""
    if line[at : at + 1] == "#":
        value = re.split(r"[\s,\]}]", line[at:])[0]
    else:
        ends = [i for c in ",]}#\n" if (i := line.find(c, at)) >= 0]
        value = line[start : min(ends, default=len(line))].strip()
    if m := re.search(r"=\s*(\d+),(\d+)\s*(?:#|$)", line):
        return f"write {m[1]}.{m[2]}, with a decimal point"
    if m := re.fullmatch(r"([+-]?)(\d*)\.(\d*)", value):
        return f"write {m[1]}{m[2] or 0}.{m[3] or 0}" if m[2] or m[3] else ""
    if value.lower() in ("true", "false", "yes", "no", "on", "off"):
        return "write true or false, in lower case"
    if value[:1] in ('"', "'"):
        closed = value.count(value[0]) % 2 == 0
        return "" if closed else f"the closing quote {value[0]} is missing"
    if re.match(r"\d", value) and re.search("['\"′″]", value):
        return 'a string has a quote at both ends; write feet and inches as "12 ft 6 in"'
    if misspelt := next((w for w in ("true", "false") if one_edit(value.lower(), w)), ""):
        return f'did you mean {misspelt}? A string would need quotes: "{value}"'
    if re.fullmatch(r"(?=.*[^\d. ])[\w.#%/:+ °-]{1,60}", value):
        return f'put "{value}" in quotes'
    return ""
