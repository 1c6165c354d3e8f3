"""What edits mean, on plain data: pure functions, each edit with its inverse; and merging.

`lumenmap.desk.files.edits` does the same to a text, and must come to the same data.
"""

from __future__ import annotations

import copy
import datetime
import json
from collections.abc import Sequence
from difflib import SequenceMatcher
from typing import Any

from lumenmap.core.errors import InputError
from lumenmap.desk.wire.asked import Edit, Insert, Move, Remove, SetValue

Where = list[str | int]


class ConflictError(InputError):
    """Somebody else changed the value meanwhile: what is there, and what was to be put there.

    ``gone``: the cue, the layer or whatever held it isn't there any more.
    """

    def __init__(
        self, message: str, path: Where, yours: Any, theirs: Any, *, gone: bool = False
    ) -> None:
        super().__init__(message)
        self.path, self.yours, self.theirs, self.gone = path, yours, theirs, gone


def as_json(value: Any) -> Any:
    """Return data of a TOML file as JSON can hold it: dates and times as text."""
    if isinstance(value, dict):
        return {k: as_json(v) for k, v in value.items()}
    if isinstance(value, list):
        return [as_json(v) for v in value]
    if isinstance(value, (datetime.date, datetime.time)):
        return value.isoformat()
    if (isinstance(value, float) and value != value) or value in (float("inf"), float("-inf")):
        return str(value)
    return value


def same(a: Any, b: Any) -> bool:
    """Return whether two values are the same in JSON, where 1.0 is 1 and true isn't."""
    return _canonical(a) == _canonical(b)


def _canonical(value: Any) -> str:
    return json.dumps(_whole(as_json(value)), sort_keys=True)


def _whole(value: Any) -> Any:
    if isinstance(value, dict):
        return {k: _whole(v) for k, v in value.items()}
    if isinstance(value, list):
        return [_whole(v) for v in value]
    return int(value) if isinstance(value, float) and value.is_integer() else value


def get(data: Any, path: Sequence[str | int]) -> Any:
    """Return the value at a path; None if there is none."""
    for part in path:
        if isinstance(part, str) and isinstance(data, dict):
            data = data.get(part)
        elif isinstance(part, int) and isinstance(data, list) and 0 <= part < len(data):
            data = data[part]
        else:
            return None
    return data


def applied(data: dict[str, Any], edits: Sequence[Edit]) -> dict[str, Any]:
    """Return the data with the edits made, all of them.

    Raises
    ------
    ConflictError
        A value that is to be changed isn't what the edit expects.
    InputError
        A path that leads nowhere.
    """
    data = copy.deepcopy(data)
    for edit in edits:
        _apply(data, edit)
    return data


def _apply(data: dict[str, Any], edit: Edit, *, strict: bool = True) -> None:
    """Make an edit; unless ``strict``, whatever was there before."""
    if not edit.path:
        raise InputError("an edit needs a path")
    *above, last = edit.path
    if isinstance(edit, SetValue):
        if strict:
            _expect(data, edit.path, edit.old, edit.new)
        holder = _holder(data, above, last)
        if edit.new is None:
            if isinstance(holder, list):
                raise InputError("an item of a list is taken out by remove")
            holder.pop(last, None)
        else:
            holder[last] = copy.deepcopy(edit.new)
        return
    if not isinstance(last, int):
        raise InputError(f"{path_words(edit.path)}: expected the number of an item")
    if isinstance(edit, Insert):
        holder = _holder(data, above[:-1], above[-1] if above else "")
        items = holder.setdefault(above[-1], []) if isinstance(holder, dict) else holder[above[-1]]
        if not isinstance(items, list) or not 0 <= last <= len(items):
            raise InputError(f"{path_words(edit.path)}: there is no such place in the list")
        items.insert(last, copy.deepcopy(edit.new))
        return
    items = get(data, above)
    if not isinstance(items, list) or not 0 <= last < len(items):
        raise InputError(f"{path_words(edit.path)}: there is no such item")
    if isinstance(edit, Remove):
        if strict:
            _expect(data, edit.path, edit.old, None)
        gone = items.pop(last)
        holder = get(data, above[:-1])
        if not items and isinstance(gone, dict) and isinstance(holder, dict):
            del holder[above[-1]]  # a list of tables without any isn't there
    else:
        if edit.to >= len(items):
            raise InputError(f"{path_words(edit.path)}: there is no such place in the list")
        items.insert(edit.to, items.pop(last))


def _expect(data: Any, path: Sequence[str | int], old: Any, new: Any) -> None:
    there = get(data, path)
    if not same(there, old) and not (new is not None and same(there, new)):
        raise ConflictError(
            f"{path_words(path)} was changed meanwhile", list(path), as_json(new), as_json(there)
        )


def _holder(data: Any, above: Sequence[str | int], last: str | int) -> Any:
    """Return the table or list at ``above``; tables on the way are made."""
    here = data
    for part in above:
        if isinstance(part, str) and isinstance(here, dict):
            here = here.setdefault(part, {})
        else:
            here = get(here, [part])
    fits = isinstance(here, dict) if isinstance(last, str) else isinstance(here, list)
    if not fits or (isinstance(last, int) and not 0 <= last < len(here)):
        raise InputError(f"{path_words([*above, last])}: there is no such place in the file")
    return here


def path_words(path: Sequence[str | int]) -> str:
    """Return a path for people: ``cue 1, layer 2, speed``."""
    text = ""
    for part in path:
        text += f" {part + 1}" if isinstance(part, int) else f", {part}"
    return text.removeprefix(", ")[:120]


def inverse(edits: Sequence[Edit]) -> list[Edit]:
    """Return the edits that take edits back."""
    return [_inverse(edit) for edit in reversed(edits)]


def _inverse(edit: Edit) -> Edit:
    if isinstance(edit, SetValue):
        return SetValue(path=edit.path, old=edit.new, new=edit.old)
    if isinstance(edit, Insert):
        return Remove(path=edit.path, old=edit.new)
    if isinstance(edit, Remove):
        return Insert(path=edit.path, new=edit.old)
    assert isinstance(edit.path[-1], int)
    return Move(path=[*edit.path[:-1], edit.to], to=edit.path[-1])


def rebased(edits: Sequence[Edit], base: dict[str, Any], now: dict[str, Any]) -> list[Edit]:
    """Return edits that were made on ``base`` as they have to be made on ``now``.

    Items of lists are found again where they are now, by what is in them. What the edits expect
    is not compared with ``base``: a hand that moves on doesn't wait for the answer, so its next
    edit is made on what its last one will have made.

    Raises
    ------
    ConflictError
        A cue, a layer or another item isn't there any more.
    """
    if same(base, now):
        return list(edits)
    moved: list[Edit] = []
    base, now = copy.deepcopy(base), copy.deepcopy(now)
    for edit in edits:
        there = edit.model_copy(update={"path": _path_now(edit, base, now)})
        if isinstance(edit, Move):
            target = edit.model_copy(update={"path": [*edit.path[:-1], edit.to]})
            there = there.model_copy(update={"to": _path_now(target, base, now)[-1]})
        moved.append(there)
        _apply(base, edit, strict=False)
        _apply(now, there)
    return moved


def _path_now(edit: Edit, base: Any, now: Any) -> Where:
    path: Where = []
    for depth, part in enumerate(edit.path):
        if isinstance(part, int) and isinstance(base, list) and isinstance(now, list):
            end = isinstance(edit, Insert) and depth == len(edit.path) - 1
            found = _item_now(base, now, part, end)
            if found is None:
                raise ConflictError(
                    f"{path_words(edit.path[: depth + 1])} isn't there any more",
                    list(edit.path),
                    as_json(getattr(edit, "new", None)),
                    None,
                    gone=True,
                )
            path.append(found)
            base, now = get(base, [part]), get(now, [found])
        else:
            path.append(part)
            base, now = get(base, [part]), get(now, [part])
    return path


def _item_now(base: list[Any], now: list[Any], index: int, end: bool) -> int | None:
    """Return where an item of ``base`` is in ``now``; None if it is gone."""
    if end and index >= len(base):
        return len(now)
    a, b = [_canonical(v) for v in base], [_canonical(v) for v in now]
    for kind, i, i2, j, j2 in SequenceMatcher(None, a, b, autojunk=False).get_opcodes():
        if i <= index < i2:
            # Items that changed where they stand are the same items, one by one.
            if kind == "equal" or (kind == "replace" and index - i < j2 - j):
                return j + index - i
            return j if end else None
    return None
