"""Hints for text that isn't TOML: the line with a mark under it, and what to write instead."""

from __future__ import annotations

import re

from lumenmap.core.errors import one_edit

_CURLY = re.compile("[“”„‟‘’‚«»]")
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
    if m := re.search(r"Cannot declare \('([^']+)',\) twice \(at line (\d+)", said):
        name, row = m[1], int(m[2])
        excerpt = _marked(lines[row - 1], row, 1) if row <= len(lines) else ""
        return (
            f"line {row}: [{name}] is there twice; if there are several, write [[{name}]]",
            excerpt,
        )
    if m := re.search(r"\(at line (\d+), column (\d+)\)", said):
        row, column = int(m[1]), int(m[2])
    elif said.endswith("(at end of document)"):
        row = max((i for i, line in enumerate(lines, 1) if line.strip()), default=1)
        column = len(lines[row - 1]) + 1
    else:
        return said, ""
    line = lines[row - 1]
    hint = _hint(line, column - 1)
    return (f"line {row}: {hint}" if hint else said), _marked(line, row, column)


def _marked(line: str, row: int, column: int) -> str:
    cut = max(0, column - _WIDE + 8)
    # A file may hold anything; a terminal must not obey it.
    shown = "".join(c if c.isprintable() else " " for c in line[cut : cut + _WIDE])
    head = f"  {row} | "
    return f"{head}{shown}\n{' ' * (len(head) - 2)}| {' ' * (column - 1 - cut)}^"


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
    if value.lower() in ("true", "false", "yes", "no", "on", "off"):
        return "write true or false, in lower case"
    if value[:1] in ('"', "'"):
        closed = value.count(value[0]) % 2 == 0
        return "" if closed else f"the closing quote {value[0]} is missing"
    if re.match(r"\d", value) and re.search("['\"′″]", value):
        return 'a string has a quote at both ends; write feet and inches as "12 ft 6 in"'
    if misspelt := next((w for w in ("true", "false") if one_edit(value.lower(), w)), ""):
        return f'did you mean {misspelt}? A string would need quotes: "{value}"'
    if re.fullmatch(r"[\w.#%/:+ °-]{1,60}", value):
        return f'put "{value}" in quotes'
    return ""
