"""Reading TOML into checked tables: every complaint knows its file and key.

A file's shape is a pydantic model with ``extra="forbid"``. `read` turns a file into one, giving
the validators the file's context (its declared unit), and turns pydantic's report into one line:
``house.toml: rail.hole_spacing: …``.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from pathlib import Path
from typing import Any, TypeVar, get_args, get_origin

from pydantic import BaseModel, ConfigDict, ValidationError
from pydantic_core import ErrorDetails

from lumenmap.core.errors import InputError, near
from lumenmap.core.toml_hints import explain

#: A house or show file is text that a person wrote; a larger one is a mistake.
LARGEST = 2_000_000

#: How files begin that are given by a slip of the hand, and what they are.
_MAGIC = {
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"GIF8": "a picture",
    b"RIFF": "a picture",
    b"%PDF": "a PDF",
    b"PK": "a zip archive or an office document",
}
#: Tables that a person counts from 1 where they have no name.
_NUMBERED = ("rule", "once", "dim")
#: Files that ``lumenmap new`` makes, by their first table.
_STARTED = ("house", "show")

M = TypeVar("M", bound="Table")


class Table(BaseModel):
    """Base of all file tables: unknown keys are errors, values are not coerced."""

    model_config = ConfigDict(
        extra="forbid",
        strict=True,
        frozen=True,
        arbitrary_types_allowed=True,
        populate_by_name=True,
    )


def load_toml(path: Path | str, kind: str = "TOML") -> dict[str, Any]:
    """Read a TOML file to plain dictionaries; ``kind`` is which file is wanted, for the error.

    Raises
    ------
    InputError
        Missing, too large, not UTF-8, or not TOML (with the line).
    """
    path = Path(path)
    try:
        if path.stat().st_size > LARGEST:
            raise InputError(
                f"is over {LARGEST // 1_000_000} MB, which is no {path.stem} file", file=path
            )
        data = path.read_bytes()
        text = data.decode()
    except FileNotFoundError:
        others = [p.name for p in path.parent.glob("*.toml")] if path.parent.is_dir() else []
        hint = near(path.name, others)
        raise InputError(f"no such file in {path.parent}{hint}", file=path) from None
    except IsADirectoryError:
        raise InputError("is a folder; a TOML file is wanted", file=path) from None
    except UnicodeDecodeError as error:
        if found := next((what for start, what in _MAGIC.items() if data.startswith(start)), ""):
            raise InputError(f"is {found}; a {kind} file is wanted", file=path) from None
        raise InputError(f"is not UTF-8 text (byte {error.start})", file=path) from None
    except OSError as error:
        raise InputError(f"can't be read: {error.strerror}", file=path) from None
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # a number of 5,000 digits is no TOMLDecodeError
        message, excerpt = explain(text, str(error))
        raise InputError(f"is not TOML: {message}", file=path, excerpt=excerpt) from None


def check(model: type[M], data: dict[str, Any], path: Path | str, context: dict[str, Any]) -> M:
    """Check plain data against a file model.

    Raises
    ------
    InputError
        The first thing that is wrong, with its key and what is wanted.
    """
    try:
        return model.model_validate(data, context=context)
    except ValidationError as error:
        details = error.errors(include_url=False)
        raise _explain(details, model, data, Path(path)) from None


def read(model: type[M], path: Path | str, context: dict[str, Any] | None = None) -> M:
    """Read and check a TOML file in one go; see `load_toml` and `check`."""
    return check(model, load_toml(path), path, context or {})


def _explain(
    details: Sequence[ErrorDetails], model: type[BaseModel], data: Any, path: Path
) -> InputError:
    # A wrong name is the likeliest cause of the rest, so it is said first.
    first = min(details, key=lambda d: d["type"] != "extra_forbidden")
    loc = [p for p in first["loc"] if not (isinstance(p, str) and "[" in p)]
    key = key_text(loc, data)
    kind, ctx = first["type"], first.get("ctx", {})
    if isinstance(oops := ctx.get("error"), InputError):
        return InputError(oops.message, file=path, key=key)
    if kind == "extra_forbidden":
        known = _keys_at(model, loc[:-1])
        return InputError(
            f"no such key{near(str(loc[-1]), known) or '.'} Keys here: {', '.join(known)}",
            file=path,
            key=key,
        )
    field = model.model_fields.get(str(loc[0])) if len(loc) == 1 else None
    if kind == "missing" and field and _model_in(field.annotation):
        many = get_origin(field.annotation) is list
        name = f"[[{loc[0]}]]" if many else f"[{loc[0]}]"
        hint = "; lumenmap new makes one to start from" if loc[0] in _STARTED else ""
        return InputError(f"{name} table is missing{hint}", file=path)
    if kind == "missing":
        return InputError("is missing", file=path, key=key)
    there = first["input"]
    shown = f'"{there[:60]}"' if isinstance(there, str) else f"{there!r:.60}"
    wanted = first["msg"].removeprefix("Value error, ").removeprefix("Input should be ")
    return InputError(f"is {shown}; wanted {wanted}", file=path, key=key)


def key_text(loc: Sequence[int | str], data: Any) -> str:
    """Write a key as its reader sees it: ``line "front", path item 3`` or ``rail.length``."""
    words: list[str] = []
    here: Any = data
    for part in loc:
        try:
            here = here[part]
        except (KeyError, IndexError, TypeError):
            here = None
        if isinstance(part, int):
            words[-1] += _item(here, words[-1], part)
        else:
            words.append(part)
    text = ".".join(words).replace(",.", ", ")
    return text.rstrip(",")


def _item(item: Any, of: str, number: int) -> str:
    """Name an item of a list by what is in it, or by its number, from 1."""
    table = item if isinstance(item, dict) else {}
    if isinstance(name := table.get("name"), str):
        return f' "{name}",'
    if isinstance(supply := table.get("supply"), str) and isinstance(to := table.get("to"), str):
        return f' "{supply}" to "{to}",'
    if of in _NUMBERED:
        return f" {number + 1},"
    if of == "path":
        what = next((f" ({k})" for k in ("jumper", "spares") if k in table), "")
        return f" item {number + 1}{what},"
    return f"[{number}]"


def _keys_at(model: Any, loc: Sequence[int | str]) -> list[str]:
    """List the keys a table may have, following the model down a location."""
    for part in loc:
        if isinstance(part, str) and isinstance(model, type) and issubclass(model, BaseModel):
            fields = {f.alias or n: f for n, f in model.model_fields.items()}
            found = fields.get(part)
            model = _model_in(found.annotation) if found else None
    if isinstance(model, type) and issubclass(model, BaseModel):
        return [f.alias or n for n, f in model.model_fields.items()]
    return []


def _model_in(annotation: Any) -> Any:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for arg in get_args(annotation):
        if (found := _model_in(arg)) is not None:
            return found
    return None
