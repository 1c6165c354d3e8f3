"""The line of each key of a TOML file, which the parser doesn't report.

Strategy: the text has been parsed already, so it is valid; a tokenizer that knows strings,
comments and brackets finds where statements, list items and inline keys start. `Lines` looks a
key up by its path, or by the way `tables.key_text` writes it.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from typing import Any

Path = tuple[int | str, ...]

_TOKEN = re.compile(
    r'"""(?:\\.|[^\\])*?"{3,5}'
    r"|'''.*?'{3,5}"
    r'|"(?:\\.|[^"\\\n])*"'
    r"|'[^'\n]*'"
    r"|#[^\n]*"
    r"|[\[\]{},=\n]"
    r"|[^\s\[\]{},=#\"']+"
    r"|[^\S\n]+",
    re.DOTALL,
)


def key_lines(text: str) -> dict[Path, int]:
    r"""Return the line, from 1, of each table, key and list item of a valid TOML text.

    >>> key_lines('[a]\nb = 1\n[[c]]\nd = [2,\n3]')[("c", 0, "d", 1)]
    5
    """
    return _Scan(text).found


def headers(text: str) -> list[tuple[Path, int]]:
    r"""Return the path and the line, from 1, of each table header of a valid TOML text, in order.

    >>> headers("a = 1\n[[c]]\nd = 1\n[[c.e]]\n[[c]]")
    [(('c', 0), 2), (('c', 0, 'e', 0), 4), (('c', 1), 5)]
    """
    return _Scan(text).headers


def words(text: str) -> Iterator[tuple[str, int]]:
    """Yield each word, mark, comment and line break of a TOML text with its first line, from 1."""
    line = 1
    for m in _TOKEN.finditer(text):
        if not m[0].isspace() or m[0] == "\n":
            yield m[0], line
        line += m[0].count("\n")


class _Scan:
    """One pass over a text's tokens."""

    def __init__(self, text: str) -> None:
        self.tokens = list(words(text))
        self.found: dict[Path, int] = {}
        self.headers: list[tuple[Path, int]] = []
        self._counts: dict[Path, int] = {}
        self._at = 0
        table: Path = ()
        while self._at < len(self.tokens):
            word, line = self.tokens[self._at]
            if word == "\n" or word[0] == "#":
                self._at += 1
            elif word == "[":
                table = self._header(line)
            else:
                self._pair(table)

    def _note(self, path: Path, line: int) -> None:
        for i in range(1, len(path) + 1):  # a dotted key makes the tables on its way
            self.found.setdefault(path[:i], line)

    def _header(self, line: int) -> Path:
        words = []
        while self._at < len(self.tokens) and self.tokens[self._at][0] != "\n":
            words.append(self.tokens[self._at][0])
            self._at += 1
        several = words[:2] == ["[", "["]
        names = _names("".join(w for w in words if w not in "[]" and w[0] != "#"))
        path: Path = ()
        for i, name in enumerate(names):
            path = (*path, name)
            if several and i == len(names) - 1:
                self.found.setdefault(path, line)
                number = self._counts[path] = self._counts.get(path, -1) + 1
                path = (*path, number)
            elif path in self._counts:
                path = (*path, self._counts[path])
        self._note(path, line)
        self.headers.append((path, line))
        return path

    def _pair(self, table: Path) -> None:
        """Read ``key = value``, in a table's body or in an inline table."""
        start, key = self._at, ""
        while self.tokens[self._at][0] != "=":
            key += self.tokens[self._at][0]
            self._at += 1
        self._at += 1
        path = (*table, *_names(key))
        self._note(path, self.tokens[start][1])
        self._value(path)

    def _value(self, path: Path) -> None:
        word = self.tokens[self._at][0]
        self._at += 1
        if word not in "[{":
            return
        close, number = {"[": "]", "{": "}"}[word], 0
        while (found := self.tokens[self._at])[0] != close:
            if found[0] in ",\n" or found[0][0] == "#":
                self._at += 1
            elif word == "[":
                self.found[(*path, number)] = found[1]
                self._value((*path, number))
                number += 1
            else:
                self._pair(path)
        self._at += 1


def _names(key: str) -> list[str]:
    """Split a dotted key by parsing it."""
    inner: Any = tomllib.loads(f"{key} = 0")
    names = []
    while isinstance(inner, dict):
        name, inner = next(iter(inner.items()))
        names.append(name)
    return names
