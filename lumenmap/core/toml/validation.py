"""Pydantic's report of a file as errors for its reader: every mistake, with its key."""

from __future__ import annotations

import contextlib
import re
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any, get_args, get_origin

from pydantic import BaseModel
from pydantic_core import ErrorDetails

from lumenmap.core.errors import InputError, near, together
from lumenmap.core.plain import shown

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
#: Words that people use for keys which have another name here [C], the likeliest first.
_ALSO = {
    "pitch": ("slope", "hole_spacing"),
    "height": ("eave",),
    "gauge": ("wire",),
    "voltage": ("volts",),
    "current": ("label_amps",),
    "watts": ("label_amps",),
    "type": ("kind", "roof"),
    "duration": ("length",),
    "begin": ("start",),
    "end": ("length", "stop"),
    "at": ("start", "position"),
    "title": ("name",),
    **dict.fromkeys(("colour", "color", "colours", "colors"), ("stops", "palette")),
    "brightness": ("opacity",),
}
#: Likewise words for what a key may say.
_ALSO_SAID = {"add": "plus-lighter", "random": "by lot"}
#: So many keys are listed though a near one is named.
_FEW = 8
_BOUNDS = {
    "greater_than": ("gt", "above"),
    "greater_than_equal": ("ge", "at least"),
    "less_than": ("lt", "below"),
    "less_than_equal": ("le", "at most"),
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
        return InputError(_no_such_key(first["loc"], model), file=path, key=key)
    field = model.model_fields.get(str(loc[0])) if len(loc) == 1 else None
    if kind == "missing" and field and _models_in(field.annotation):
        many = get_origin(field.annotation) is list
        name = f"[[{loc[0]}]]" if many else f"[{loc[0]}]"
        hint = "; lumenmap new makes one to start from" if loc[0] in _STARTED else ""
        return InputError(f"{name} table is missing{hint}", file=path)
    if kind == "missing":
        return _missing(loc, data, path)
    if kind in ("model_type", "dict_type") and _unnamed(loc, model):
        return InputError(
            f"needs a name, as in [{loc[0]}.NAME]", file=path, key=key_text(loc[:1], data)
        )
    there = first["input"]
    if kind == "list_type" and isinstance(there, dict) and (field or _keys_at(model, loc)):
        name = ".".join(part for part in loc if isinstance(part, str))
        return InputError(f"[{name}] is one table; write [[{name}]]", file=path, key=key)
    if kind == "model_type" and isinstance(there, list) and field:
        return InputError(f"[[{loc[0]}]] is for several; write [{loc[0]}], once", file=path)
    if kind in _ITEMS:
        name, words = _ITEMS[kind]
        count = f"{len(there)} item{'' if len(there) == 1 else 's'}"
        return InputError(f"has {count}; expected {words} {first['ctx'][name]}", file=path, key=key)
    expected = list(dict.fromkeys(_expected(d) for d in group))
    if kind in ("list_type", "tuple_type") and isinstance(there, str):
        expected[0] += f": [{shown(there)}]"
    if hint := _near_choice(first):
        return InputError(
            f"is {shown(there)}{hint} Expected {' or '.join(expected)}", file=path, key=key
        )
    return InputError(f"is {shown(there)}; expected {' or '.join(expected)}", file=path, key=key)


def _no_such_key(loc: Loc, model: type[BaseModel]) -> str:
    """Return what to say of an unknown key: the one that was meant, and those that there are."""
    known, word = _keys_at(model, loc[:-1]), str(loc[-1])
    hint = (_inner(word, model) if len(loc) == 1 else "") or meant(word, known)
    if not known or (hint and len(known) > _FEW):
        return f"no such key{hint}"
    return f"no such key{hint or '.'} Keys here: {', '.join(known)}"


def meant(word: str, known: Iterable[str]) -> str:
    """Return ``; did you mean "x"?`` for the key that a word stands for, or the empty string."""
    keys = list(known)
    also = next((key for key in _ALSO.get(word, ()) if key in keys), "")
    return f'; did you mean "{also}"?' if also else near(word, keys)


def _unnamed(loc: Loc, model: type[BaseModel]) -> bool:
    """Return whether a table of tables, each by its name, has the keys of one of them."""
    field = model.model_fields.get(str(loc[0]))
    if field is None or get_origin(field.annotation) is not dict:
        return False
    inner = {key for table in _models_in(field.annotation) for key in table.model_fields}
    return bool(inner) and (len(loc) == 1 or (len(loc) == 2 and loc[1] in inner))


def _inner(word: str, model: type[BaseModel]) -> str:
    """Return where a key of another table belongs: ``; did you mean [[cue.layer]]?``."""
    for name, field in model.model_fields.items():
        table = field.alias or name
        for inner in _models_in(field.annotation):
            found = inner.model_fields.get(word)
            if found and get_origin(found.annotation) is list and _models_in(found.annotation):
                return f"; did you mean [[{table}.{word}]]?"
            if found and inner is field.annotation:
                return f"; it belongs in [{table}]."
    return ""


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


def _near_choice(detail: ErrorDetails) -> str:
    """Return a suggestion for a word that should be one of a few."""
    if detail["type"] != "literal_error" or not isinstance(detail["input"], str):
        return ""
    word, choices = detail["input"], re.findall("'([^']+)'", detail["ctx"]["expected"])
    if (also := _ALSO_SAID.get(word)) in choices:
        return f'; did you mean "{also}"?'
    return near(word, choices)


def _expected(detail: ErrorDetails) -> str:
    kind, ctx = detail["type"], detail.get("ctx", {})
    if kind in _BOUNDS:
        name, words = _BOUNDS[kind]
        return f"{words} {ctx[name]:g}"
    if kind == "literal_error":
        return str(ctx["expected"]).replace("'", '"')
    return _EXPECTED.get(
        kind, detail["msg"].removeprefix("Value error, ").removeprefix("Input should be ")
    )


def key_text(loc: Sequence[int | str], data: Any) -> str:
    """Return a key as its reader sees it; items count from 1.

    ``rail.length``, ``line "front", path item 3``, ``cue 1, layer 2, speed``.
    """
    words: list[str] = []
    here: Any = data
    for part in loc:
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            here = None
        if isinstance(part, int) and words:
            words[-1] += _item(here, words[-1], part)
        else:
            words.append(str(part))
    text = ".".join(words).replace(",.", ", ")
    return text.rstrip(",")


def _item(item: Any, of: str, number: int) -> str:
    """Return the name of a list's item by what is in it, or by its number, counted from 1."""
    table = item if isinstance(item, dict) else {}
    if isinstance(name := table.get("name"), str):
        return f' "{name}",'
    if isinstance(supply := table.get("supply"), str) and isinstance(to := table.get("to"), str):
        return f' "{supply}" to "{to}",'
    if of == "path":
        what = next((f" ({k})" for k in ("jumper", "spares") if k in table), "")
        return f" item {number + 1}{what},"
    return f" {number + 1}," if isinstance(item, dict) else f" item {number + 1},"


def _keys_at(model: type[BaseModel], loc: Sequence[int | str]) -> list[str]:
    """List the keys a table may have, following the model down a location."""
    models, named = [model], False
    for part in loc:
        if not isinstance(part, str):
            continue
        if named:  # a table of tables: this part is the name that its writer gave
            named = False
            continue
        fields = {f.alias or n: f for m in models for n, f in m.model_fields.items()}
        if (found := fields.get(part)) is not None:
            models, named = _models_in(found.annotation), _is_dict(found.annotation)
        else:  # pydantic's name of one type of several
            models = [m for m in models if m.__name__ == part] or models
    return [f.alias or n for m in models[:1] for n, f in m.model_fields.items()]


def _is_dict(annotation: Any) -> bool:
    return get_origin(annotation) is dict or any(
        _is_dict(arg) for arg in get_args(annotation) if get_origin(annotation) is not list
    )


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [found for arg in get_args(annotation) for found in _models_in(arg)]
