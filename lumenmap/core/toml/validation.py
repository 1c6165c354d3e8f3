"""Pydantic's report of a file as errors for its reader: every mistake, with its key."""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from pathlib import Path
from typing import Any, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails

from lumenmap.core.errors import InputError, together
from lumenmap.core.names import CHANNELS, NAME
from lumenmap.core.plain import shown
from lumenmap.core.toml.keys import key_text, keys_at, models_in
from lumenmap.core.toml.meant import meant, near_choice, no_such_key
from lumenmap.core.wording import some

#: Files that ``lumenmap new`` makes, by their first table.
_STARTED = ("house", "show")
#: What a value of the wrong type should have been, by pydantic's name of the error.
_EXPECTED = {
    "string_type": "a string in quotes",
    "int_type": "a whole number",
    "int_parsing": "a whole number",
    "int_from_float": "a whole number",
    "float_type": "a number",
    "float_parsing": "a number",
    "finite_number": "a finite number",
    "bool_type": "true or false",
    "list_type": "a list in [ ]",
    "tuple_type": "a list in [ ]",
    "dict_type": "a table",
    "model_type": "a table",
    "model_attributes_type": "a table",
}
_BOUNDS = {
    "greater_than": ("gt", "above"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "below"),
    "less_than_equal": ("le", "at most"),
}
#: What text should be like, by the pattern that it doesn't match.
_FORMS = {
    NAME: "letters, digits, spaces and . _ / ' - alone, a letter or digit first",
    CHANNELS: "3 or 4 of the letters R, G, B and W",
}
_ITEMS = {"too_short": ("min_length", "at least"), "too_long": ("max_length", "at most")}

Loc = tuple[int | str, ...]


def errors_in(
    details: Sequence[ErrorDetails], model: type[BaseModel], data: Any, path: Path
) -> InputError:
    """Return all mistakes that pydantic found in a file as one error."""
    # An unknown name is the likeliest cause of the rest, so it comes first.
    ordered = sorted(details, key=lambda d: d["type"] != "extra_forbidden")
    groups: dict[Loc, list[ErrorDetails]] = {}
    for detail in ordered:  # a value that may be of several types fails once for each
        groups.setdefault(_clean(detail, data), []).append(detail)
    misspelt = [loc for loc, group in groups.items() if group[0]["type"] == "extra_forbidden"]
    return together(
        [
            _one(loc, group, model, data, path)
            for loc, group in groups.items()
            if not (group[0]["type"] == "missing" and _written_otherwise(loc, misspelt))
            # Of several types that a list may have, the one whose items were read is the one.
            and not any(len(other) > len(loc) and other[: len(loc)] == loc for other in groups)
        ]
    )


def _written_otherwise(missing: Loc, misspelt: Sequence[Loc]) -> bool:
    """Return whether a missing key is there, but misspelt: one mistake, not two."""
    key = str(missing[-1])
    return any(missing[:-1] == loc[:-1] and meant(str(loc[-1]), [key]) for loc in misspelt)


def _clean(detail: ErrorDetails, data: Any) -> Loc:
    """Return where in the file it is, without the names that pydantic gives to types."""
    parts, here, loc = [], data, detail["loc"]
    for i, part in enumerate(loc):
        last = i == len(loc) - 1
        there = part in here if isinstance(here, dict) else isinstance(here, list)
        if there and not (isinstance(here, list) and not isinstance(part, int)):
            here = here[part] if isinstance(here, dict) or part in range(len(here)) else None
        elif isinstance(part, str) and not (last and detail["type"] == "missing"):
            continue
        parts.append(part)
    return tuple(parts)


def _one(
    loc: Loc, group: Sequence[ErrorDetails], model: type[BaseModel], data: Any, path: Path
) -> InputError:
    first = group[0]
    key, kind = key_text(loc, data), first["type"]
    for detail in group:
        if isinstance(found := detail.get("ctx", {}).get("error"), InputError):
            joint = ", " if key.endswith('"') else "."
            key = f"{key}{joint}{found.key}" if key and found.key else key or found.key
            # The quantity is often named like its key, which is told already.
            message = found.message.removeprefix(f"{loc[-1]} ")
            return InputError(message, file=path, key=key)
    if kind == "extra_forbidden":
        return InputError(no_such_key(first["loc"], model), file=path, key=key)
    if kind == "missing":
        return _no_table(loc, model, path) or _missing(loc, data, path)
    return _other_table(loc, first, model, data, path) or InputError(
        _wrong(first, group), file=path, key=key
    )


def _top(loc: Loc, model: type[BaseModel]) -> FieldInfo | None:
    """Return what a file says of a table of its own, not one inside another."""
    return model.model_fields.get(str(loc[0])) if len(loc) == 1 else None


def _no_table(loc: Loc, model: type[BaseModel], path: Path) -> InputError | None:
    """Return that a whole table is missing, if it is one."""
    field = _top(loc, model)
    if field is None or not models_in(field.annotation):
        return None
    name = f"[[{loc[0]}]]" if get_origin(field.annotation) is list else f"[{loc[0]}]"
    hint = "; lumenmap new makes one to start from" if loc[0] in _STARTED else ""
    return InputError(f"{name} table is missing{hint}", file=path)


def _other_table(
    loc: Loc, detail: ErrorDetails, model: type[BaseModel], data: Any, path: Path
) -> InputError | None:
    """Return what kind of table is expected where there is another, if that is the mistake."""
    kind, there = detail["type"], detail["input"]
    if kind in ("model_type", "dict_type") and _unnamed(loc, model):
        key = key_text(loc[:1], data)
        return InputError(f"needs a name, as in [{loc[0]}.NAME]", file=path, key=key)
    field = _top(loc, model)
    if kind == "list_type" and isinstance(there, dict) and (field or keys_at(model, loc)):
        name = ".".join(part for part in loc if isinstance(part, str))
        says = f"[{name}] is one table; write [[{name}]]"
        return InputError(says, file=path, key=key_text(loc, data))
    if kind == "model_type" and isinstance(there, list) and field:
        return InputError(f"[[{loc[0]}]] is for several; write [{loc[0]}], once", file=path)
    return None


def _wrong(first: ErrorDetails, group: Sequence[ErrorDetails]) -> str:
    """Return what a value is, and what was expected."""
    kind, there = first["type"], first["input"]
    if kind in _ITEMS:
        name, words = _ITEMS[kind]
        return f"has {some(len(there), 'item')}; expected {words} {first['ctx'][name]}"
    expected = list(dict.fromkeys(_expected(d) for d in group))
    if kind in ("list_type", "tuple_type") and isinstance(there, str):
        expected[0] += f": [{shown(there)}]"
    hint = near_choice(first)
    return (
        f"is {shown(there)}{f'{hint} Expected' if hint else '; expected'} {' or '.join(expected)}"
    )


def _unnamed(loc: Loc, model: type[BaseModel]) -> bool:
    """Return whether a table of tables, each by its name, has the keys of one of them."""
    field = model.model_fields.get(str(loc[0]))
    if field is None or get_origin(field.annotation) is not dict:
        return False
    inner = {key for table in models_in(field.annotation) for key in table.model_fields}
    return bool(inner) and (len(loc) == 1 or (len(loc) == 2 and loc[1] in inner))


def _missing(loc: Loc, data: Any, path: Path) -> InputError:
    """Return that a key is missing; or misspelt, in a table that may have keys of any name."""
    table, key = data, str(loc[-1])
    with contextlib.suppress(KeyError, IndexError, TypeError):
        for part in loc[:-1]:
            table = table[part]
    for other in table if isinstance(table, dict) else ():
        if hint := meant(other, [key]):
            return InputError(
                f"no such key{hint}", file=path, key=key_text((*loc[:-1], other), data)
            )
    return InputError("is missing", file=path, key=key_text(loc, data))


def _expected(detail: ErrorDetails) -> str:
    kind, ctx = detail["type"], detail.get("ctx", {})
    if kind in _BOUNDS:
        name, words = _BOUNDS[kind]
        return f"{words} {ctx[name]:g}"
    if kind in ("string_too_short", "string_too_long"):
        name, words = _ITEMS[kind.removeprefix("string_")]
        return f"{words} {some(ctx[name], 'character')}"
    if kind == "string_pattern_mismatch":
        return _FORMS[ctx["pattern"]]
    if kind == "literal_error":
        return str(ctx["expected"]).replace("'", '"')
    return _EXPECTED.get(
        kind, detail["msg"].removeprefix("Value error, ").removeprefix("Input should be ")
    )
