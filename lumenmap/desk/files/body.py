"""Edits of one table's keys, by a library that keeps style: spaces, comments, ways of writing."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import tomlkit
from tomlkit.items import Array, InlineTable

from lumenmap.core.toml.lines import Path
from lumenmap.desk.files.blocks import key, literal
from lumenmap.desk.wire.asked import Edit, Insert, Move, Remove


def body_edited(body: str, rest: Path, edit: Edit) -> str:
    """Return a table's body with a key changed; ``rest`` is the path from the table.

    Raises
    ------
    TOMLKitError, KeyError, IndexError, TypeError, AttributeError
        The library can't make the edit.
    """
    if body and not body.endswith("\n"):
        body += "\n"
    document = tomlkit.parse(body)
    *above, last = rest
    holder: Any = document
    for i, part in enumerate(above):
        if isinstance(part, str) and part not in holder:
            listed = isinstance(edit, Insert) and i == len(above) - 1
            holder[part] = tomlkit.array() if listed else tomlkit.inline_table()
        holder = holder[part]
    if isinstance(edit, Move):  # the values change places, so that comments stay on their lines
        written = [item.as_string().strip() for item in holder]
        written.insert(edit.to, written.pop(int(last)))
        for i, text in enumerate(written):
            holder[i] = tomlkit.value(text)
    elif isinstance(edit, Insert):
        holder.insert(last, tomlkit.value(literal(edit.new)))
    elif isinstance(edit, Remove) and len(holder) == 1 and _is_table(holder[0]) and len(above) == 1:
        del document[str(above[0])]
        return tomlkit.dumps(document)
    elif isinstance(edit, Remove) or edit.new is None:
        comment = "" if isinstance(last, int) else _comment_of(holder, last)
        del holder[last]
        if comment and holder is document:  # what a person wrote beside it stays
            holder.add(tomlkit.comment(comment.removeprefix("#").strip()))
    else:
        holder[last] = tomlkit.value(literal(edit.new))
    text = tomlkit.dumps(document)
    return _tidied(text, above) if above else text


def _is_table(value: Any) -> bool:
    return isinstance(value, dict)


def _comment_of(holder: Any, name: str) -> str:
    trivia = getattr(holder.item(name) if hasattr(holder, "item") else None, "trivia", None)
    return trivia.comment if trivia else ""


def _tidied(body: str, above: Sequence[str | int]) -> str:
    """Return a body in which the list or inline table at ``above`` is spaced evenly, if it can."""
    document = tomlkit.parse(body)
    holder: Any = document
    for part in above[:-1]:
        holder = holder[part]
    item = holder[above[-1]]
    text = _spaced(item)
    if text is not None:
        holder[above[-1]] = tomlkit.value(text)
        return tomlkit.dumps(document)
    return body


def _spaced(item: Any) -> str | None:
    """Return a list or an inline table on one line, its values as written; None if it isn't one."""
    if "\n" in item.as_string():
        return None
    if isinstance(item, Array):
        return f"[{', '.join(v.as_string().strip() for v in item)}]"
    if isinstance(item, InlineTable):
        pairs = [f"{key(k)} = {_written(item, k)}" for k in item]
        return f"{{ {', '.join(pairs)} }}" if pairs else "{}"
    return None


def _written(holder: InlineTable, name: str) -> str:
    """Return a value as it is written."""
    value: Any = holder.value.item(name)
    return str(value.as_string()).strip()
