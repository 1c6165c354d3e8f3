"""A TOML text cut into blocks: each table header with its comments and what follows it.

Strategy: a block is small, so an edit parses only the one that holds the key, and every other byte
of the file stays as it is. Tables that a person wrote in an unusual order need no special care.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from lumenmap.core.errors import InputError
from lumenmap.core.plain import shown
from lumenmap.core.toml.lines import Path, headers, words

#: Lists of tables that get a header each; other lists are written in brackets.
HEADED = frozenset(("cue", "layer", "route", "rule", "once", "dim"))
_BARE = re.compile(r"[A-Za-z0-9_-]+")


@dataclass(frozen=True, slots=True)
class Block:
    """One table's text: comments right above its header, the header's line, its keys."""

    path: Path
    lead: str
    header: str
    body: str

    @property
    def text(self) -> str:
        """All of it."""
        return self.lead + self.header + self.body


def split(text: str) -> list[Block]:
    """Cut a valid TOML text into blocks; the first holds what stands above all headers.

    Their texts, joined, are the whole text again.
    """
    lines = re.findall(r"[^\n]*\n|[^\n]+", text)
    found, comments = headers(text), _comments(text)
    starts = []
    for _, number in found:
        first = number - 1
        while first and first in comments:  # the line above, counted from 1
            first -= 1
        starts.append(first)
    ends = [*starts[1:], len(lines)][: len(starts)]
    blocks = [Block((), "", "", "".join(lines[: starts[0] if starts else None]))]
    for (path, number), start, end in zip(found, starts, ends, strict=True):
        lead, body = lines[start : number - 1], lines[number:end]
        blocks.append(Block(path, "".join(lead), lines[number - 1], "".join(body)))
    return blocks


def _comments(text: str) -> set[int]:
    """Return the numbers of the lines that hold a comment and nothing else."""
    first: dict[int, str] = {}
    for word, line in words(text):
        first.setdefault(line, word)
        last = line + word.count("\n") - (word == "\n")
        if last > line:
            first.setdefault(last, word)
    return {line for line, word in first.items() if word.startswith("#")}


def join(blocks: Sequence[Block]) -> str:
    """Return the text of blocks."""
    return "".join(b.text for b in blocks)


def within(path: Path, above: Path) -> bool:
    """Return whether a path is ``above`` or lies below it."""
    return path[: len(above)] == above


def end_of_keys(body: str) -> int:
    """Return where a body's last key ends: blank lines and comments after it belong below."""
    last = 0
    for word, line in words(body):
        if word != "\n" and not word.startswith("#"):
            last = line + word.count("\n")
    at = 0
    for _ in range(last):
        found = body.find("\n", at)
        if found < 0:
            return len(body)
        at = found + 1
    return at


def key(name: str) -> str:
    """Return a key as TOML has it, in quotes if it needs them."""
    return name if _BARE.fullmatch(name) else literal(name)


def literal(value: Any) -> str:
    """Return a value as TOML on one line.

    Raises
    ------
    InputError
        Something that TOML can't hold: null, infinity, a whole number beyond 64 bits.
    """
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        # A JSON string is a TOML basic string, but for the delete character, and lone surrogates,
        # which no UTF-8 file can hold.
        if not value.isascii():
            try:
                value.encode()
            except UnicodeEncodeError:
                raise InputError("has half a character; expected text") from None
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, int) and abs(value) < 2**63:
        return str(value)
    if isinstance(value, float) and math.isfinite(value):
        return repr(value)
    if isinstance(value, list):
        return f"[{', '.join(map(literal, value))}]"
    if isinstance(value, dict):
        pairs = [f"{key(k)} = {literal(v)}" for k, v in value.items()]
        return f"{{ {', '.join(pairs)} }}" if pairs else "{}"
    raise InputError(f"is {shown(value)}; expected a value that a TOML file can hold")


def table(path: Path, value: dict[str, Any]) -> str:
    """Return a table with its header, and those of the lists of tables in it."""
    names = ".".join(key(p) for p in path if isinstance(p, str))
    header = f"[[{names}]]" if isinstance(path[-1], int) else f"[{names}]"
    headed = {k: v for k, v in value.items() if k in HEADED and isinstance(v, list) and _tables(v)}
    lines = [header, *(f"{key(k)} = {literal(v)}" for k, v in value.items() if k not in headed)]
    text = "\n".join(lines) + "\n"
    for name, items in headed.items():
        for number, item in enumerate(items):
            text += "\n" + table((*path, name, number), item)
    return text


def _tables(value: list[Any]) -> bool:
    return bool(value) and all(isinstance(item, dict) for item in value)
