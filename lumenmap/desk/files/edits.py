"""Edits of a TOML text: comments, order and blank lines that a person wrote stay.

Strategy: an edit changes the block that holds its key, by a library that keeps style; cues and
layers are whole blocks. Whatever was done, the new text must parse to just the data that
`lumenmap.desk.files.meaning` says, or the edit is refused: a file is never spoiled.
"""

from __future__ import annotations

import itertools
import tomllib
from collections.abc import Sequence
from typing import Any

from tomlkit.exceptions import TOMLKitError

from lumenmap.core.errors import InputError
from lumenmap.core.toml.lines import Path
from lumenmap.desk.files import meaning
from lumenmap.desk.files.blocks import HEADED, Block, end_of_keys, join, key, split, table, within
from lumenmap.desk.files.body import body_edited
from lumenmap.desk.wire.asked import Edit, Insert, Move, Remove, SetValue


def edited(text: str, edits: Sequence[Edit], kept: Sequence[str] = ()) -> str:
    """Return the text with all edits made.

    Parameters
    ----------
    kept
        Texts of cues or layers that were taken out by hand; one that is put back is put back with
        its comments.

    Raises
    ------
    InputError
        Not TOML; a path that leads nowhere; a value of another time; a file written in a way that
        can't be changed here.
    """
    for edit in edits:
        expected = meaning.applied(tomllib.loads(text), [edit])
        made = _newlines(_edited(text, edit, kept), text)
        if made is None or not _means(made, expected):
            raise InputError(
                "this part of the file is written in a way that the desk can't change; "
                "change it in an editor"
            )
        text = made
    return text


def taken(text: str, edit: Edit) -> str:
    """Return the text of the cue or layer that an edit takes out, to be kept; or nothing."""
    path = tuple(edit.path)
    return join([b for b in split(text) if within(b.path, path)]) if path else ""


def _means(text: str, expected: dict[str, Any]) -> bool:
    try:
        return meaning.same(tomllib.loads(text), expected)
    except (ValueError, RecursionError):
        return False


def _newlines(made: str | None, before: str) -> str | None:
    """Return a text with the line ends that it had."""
    if made is None or "\r\n" not in before:
        return made
    return made.replace("\r\n", "\n").replace("\n", "\r\n")


def _edited(text: str, edit: Edit, kept: Sequence[str]) -> str | None:
    path = tuple(edit.path)
    blocks = split(text)
    own = [b for b in blocks if within(b.path, path)]
    if isinstance(edit, Move) and edit.to == path[-1]:
        return text
    if isinstance(edit, SetValue):
        if own:
            return _table_set(blocks, own, path, edit)
        if isinstance(edit.new, dict):
            for before in kept:
                if _is_block(before, path, edit.new):
                    return _at_end(text, before)
        return _in_block(blocks, path, edit)
    headed = any(within(b.path, path[:-1]) and len(b.path) >= len(path) for b in blocks)
    if isinstance(edit, Insert):
        absent = meaning.get(tomllib.loads(text), path[:-1]) is None
        fresh = absent and isinstance(edit.new, dict) and len(path) > 1 and path[-2] in HEADED
        if headed or fresh:
            return _block_in(blocks, path, edit.new, kept)
    elif headed:
        if isinstance(edit, Remove):
            return join([b for b in blocks if not within(b.path, path)])
        return _block_moved(blocks, own, path, edit)
    return _in_block(blocks, path, edit)


def _table_set(blocks: list[Block], own: list[Block], path: Path, edit: SetValue) -> str | None:
    """Give a table that has headers; or take it away, with everything in it."""
    at = blocks.index(own[0])
    rest = [b for b in blocks if b not in own]
    if edit.new is None:
        return join(rest)
    if not isinstance(edit.new, dict):
        return None
    made = own[0].lead + table(path, edit.new) + "\n"
    return join(rest[:at]) + made + join(rest[at:])


def _block_in(blocks: list[Block], path: Path, value: Any, kept: Sequence[str]) -> str | None:
    """Put a table into a list of tables with headers."""
    if not isinstance(value, dict):
        return None
    *above, number = path
    assert isinstance(number, int)
    later = [i for i, b in enumerate(blocks) if within(b.path, path)]
    if later:
        at = later[0]
    else:  # after the last of the list; if it has none, after the table that it is in
        before = (*above, number - 1) if number else tuple(above[:-1])
        at = max((i for i, b in enumerate(blocks) if within(b.path, before)), default=-1) + 1
        at = at if before else len(blocks)
    made = next((t for t in kept if _is_block(t, path, value)), None) or table(path, value)
    head, tail = join(blocks[:at]), join(blocks[at:])
    if head and not head.endswith("\n"):
        head += "\n"
    gap = "" if not head or head.endswith("\n\n") else "\n"
    last = "" if not tail or made.endswith("\n\n") else "\n"
    return head + gap + made + last + tail


def _is_block(text: str, path: Path, value: dict[str, Any]) -> bool:
    """Return whether a kept text is this table: its lists may be numbered anew."""
    try:
        data: Any = tomllib.loads(_with_parents(path) + text)
    except ValueError:
        return False
    for part in path:
        if isinstance(part, int):
            data = data[-1] if isinstance(data, list) and data else None
        else:
            data = data.get(part) if isinstance(data, dict) else None
    return meaning.same(data, value)


def _with_parents(path: Path) -> str:
    """Return headers of the lists that a table is in, so that its text can be read alone."""
    text, names = "", ""
    for part, following in itertools.pairwise(path[:-1]):
        if isinstance(part, str):
            names += f".{key(part)}" if names else key(part)
            text += f"[[{names}]]\n" if isinstance(following, int) else ""
    return text


def _block_moved(blocks: list[Block], own: list[Block], path: Path, edit: Move) -> str:
    rest = [b for b in blocks if b not in own]
    number = path[-1]
    assert isinstance(number, int)
    # Seen without the moved one, the others keep the numbers they have in the text.
    order = list(dict.fromkeys(b.path[len(path) - 1] for b in rest if _beside(b, path)))
    if edit.to < len(order):
        at = next(i for i, b in enumerate(rest) if within(b.path, (*path[:-1], order[edit.to])))
    else:
        at = max(i for i, b in enumerate(rest) if within(b.path, (*path[:-1], order[-1]))) + 1
    parts = [join(rest[:at]), join(own), join(rest[at:])]
    # A last block may lack the line break, or the blank line, that divides it from the next.
    for i in (0, 1):
        if parts[i] and any(parts[i + 1 :]):
            parts[i] = parts[i].rstrip("\r\n") + "\n\n"
    return "".join(parts)


def _beside(block: Block, path: Path) -> bool:
    return within(block.path, path[:-1]) and len(block.path) >= len(path)


def _in_block(blocks: list[Block], path: Path, edit: Edit) -> str | None:
    """Change a key in the body of the block that it is in."""
    holder = max((b for b in blocks if within(path, b.path)), key=lambda b: len(b.path))
    rest = path[len(holder.path) :]
    at = blocks.index(holder)
    fresh = len(rest) > 1 and isinstance(rest[1], str)  # a list stands in the body that it is in
    if not holder.path and fresh and rest[0] not in tomllib.loads(holder.body):
        return _new_table(blocks, rest, edit)
    cut = end_of_keys(holder.body)
    try:
        body = body_edited(holder.body[:cut], rest, edit)
    except (TOMLKitError, KeyError, IndexError, TypeError, AttributeError):
        return None
    made = Block(holder.path, holder.lead, holder.header, body + holder.body[cut:])
    head = join(blocks[:at]) + holder.lead + holder.header
    if holder.header and not holder.header.endswith("\n"):
        head += "\n"
    return head + made.body + join(blocks[at + 1 :])


def _new_table(blocks: list[Block], rest: Path, edit: Edit) -> str | None:
    """Write a table that the file doesn't have yet, at its end."""
    value: Any = meaning.applied({}, [edit]) if isinstance(edit, (SetValue, Insert)) else None
    names: list[str] = []
    while isinstance(value, dict) and len(value) == 1 and len(names) < len(rest) - 1:
        name, value = next(iter(value.items()))
        names.append(name)
    if not isinstance(value, dict) or not names:
        return None
    return _at_end(join(blocks), table(tuple(names), value))


def _at_end(text: str, made: str) -> str:
    """Return a text with a table at its end, a blank line between."""
    if text and not text.endswith("\n"):
        text += "\n"
    gap = "" if not text or text.endswith("\n\n") else "\n"
    return text + gap + made
