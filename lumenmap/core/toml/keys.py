"""Keys of a file: as their reader sees them, and those that its tables may have."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, get_args, get_origin

from pydantic import BaseModel


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


def keys_at(model: type[BaseModel], loc: Sequence[int | str]) -> list[str]:
    """List the keys that a table may have, following the model down a location."""
    models, named = [model], False
    for part in loc:
        if not isinstance(part, str):
            continue
        if named:  # a table of tables: this part is the name that its writer gave
            named = False
            continue
        fields = {f.alias or n: f for m in models for n, f in m.model_fields.items()}
        if (found := fields.get(part)) is not None:
            models, named = models_in(found.annotation), _is_dict(found.annotation)
        else:  # pydantic's name of one type of several
            models = [m for m in models if m.__name__ == part] or models
    return [f.alias or n for m in models[:1] for n, f in m.model_fields.items()]


def _is_dict(annotation: Any) -> bool:
    return get_origin(annotation) is dict or any(
        _is_dict(arg) for arg in get_args(annotation) if get_origin(annotation) is not list
    )


def models_in(annotation: Any) -> list[type[BaseModel]]:
    """List the tables that an annotation is of."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [found for arg in get_args(annotation) for found in models_in(arg)]
