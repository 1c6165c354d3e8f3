"""Reading TOML into checked tables: every mistake is reported with its file, key and line.

A file's shape is a pydantic model with ``extra="forbid"``. `read` turns a file into one, giving
the validators the file's context (its declared unit). Pydantic's report becomes one line for each
mistake: ``house.toml: rail.hole_spacing: … (line 12)``. What is found wrong later, when the names
in a file are resolved, gets its line from `located`.
"""

from __future__ import annotations

import contextlib
import copy
import re
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from lumenmap.core.errors import InputError, together
from lumenmap.core.regular import read_regular
from lumenmap.core.toml.keys import key_text
from lumenmap.core.toml.lines import key_lines
from lumenmap.core.toml.reading import LARGEST, load_toml
from lumenmap.core.toml.validation import errors_in

M = TypeVar("M", bound="Table")
R = TypeVar("R")
#: Stands where a key was, while the keys of a file that are wrong are taken out.
_GONE = object()


class Table(BaseModel):
    """Base of all file tables: unknown keys are errors, values are not coerced."""

    model_config = ConfigDict(
        extra="forbid",
        strict=True,
        frozen=True,
        arbitrary_types_allowed=True,
        populate_by_name=True,
        defer_build=True,  # of 40 tables few are checked for themselves: the others take 0.1 s
    )


def check(model: type[M], data: dict[str, Any], path: Path | str, context: dict[str, Any]) -> M:
    """Check plain data against a file model.

    Raises
    ------
    InputError
        Everything that is wrong, each mistake with its key, its line and what is expected.
    """
    with located(path, data):
        try:
            return model.model_validate(data, context=context)
        except ValidationError as error:
            details = error.errors(include_url=False)
            raise errors_in(details, model, data, Path(path)) from None


def build(
    model: type[M],
    data: dict[str, Any],
    path: Path | str,
    context: dict[str, Any],
    make: Callable[[M], R],
) -> R:
    """Check plain data against a file model, and make something of it.

    What `check` refuses doesn't hide what ``make`` finds wrong with the rest of the file: the
    mistakes of both are reported together.

    Raises
    ------
    InputError
        Everything that is wrong, each mistake with its key, its line and what is expected.
    """
    refused: InputError | None = None
    checked: M | None
    try:
        checked = model.model_validate(data, context=context)
    except ValidationError as error:
        details = error.errors(include_url=False)
        refused = errors_in(details, model, data, Path(path))
        rest = _without([d["loc"] for d in details if d["type"] != "missing"], data)
        try:
            checked = model.model_validate(rest, context=context)
        except ValidationError:
            checked = None  # a key that is needed is wrong: nothing can be made of the rest
    with located(path, data):
        if checked is None:
            assert refused is not None
            raise refused
        try:
            made = make(checked)
        except InputError as found:
            first = refused.each if refused else []
            # What is missing because it was wrong is one mistake, not two; where there is none of a
            # kind at all, they may be among what was refused: [supply], [[suply]].
            known = {one.key for one in first}
            new = [one for one in found.each if one.key not in known]
            new = [one for one in new if not (first and "; there are no " in one.message)]
            new = [one for one in new if not _needs_refused(one, first)]
            raise together([*first, *new]) from found.__cause__
        if refused:
            raise refused
        return made


def _needs_refused(one: InputError, refused: Sequence[InputError]) -> bool:
    """Return whether a table needs a key that is there, but was refused: its amps in watts.

    Or the key is named, as a roof's slope that was written as its pitch.
    """
    inside = (f"{one.key}, ", f"{one.key}.")
    table, _, key = one.key.rpartition(", ")
    meant = f'did you mean "{key}"?'
    return any(
        (one.message.startswith("needs ") and r.key.startswith(inside))
        or (meant in r.message and r.key.rpartition(", ")[0] == table)
        for r in refused
    )


def _without(places: Sequence[tuple[int | str, ...]], data: dict[str, Any]) -> dict[str, Any]:
    """Return a copy of a file's tables without the key at, or next around, each place."""
    rest = copy.deepcopy(data)
    for place in places:
        inner: Any = rest
        last: tuple[dict[str, Any], str] | None = None
        for step in place:  # what isn't in the file is the name of a type that was tried
            if isinstance(inner, dict) and step in inner:
                last = (inner, str(step))
                inner = inner[str(step)]
            elif isinstance(inner, list) and isinstance(step, int) and step < len(inner):
                inner = inner[step]
        if last is not None:
            # Kept as a mark until all are found; an item of a list can't go alone, since the
            # numbers of the others would change.
            last[0][last[1]] = _GONE
    swept: dict[str, Any] = _swept(rest)
    return swept


def _swept(value: Any) -> Any:
    """Return plain data without what is marked as gone."""
    if isinstance(value, dict):
        return {k: _swept(v) for k, v in value.items() if v is not _GONE}
    return [_swept(v) for v in value] if isinstance(value, list) else value


def read(model: type[M], path: Path | str, context: dict[str, Any] | None = None) -> M:
    """Read and check a TOML file in one go; see `load_toml` and `check`."""
    return check(model, load_toml(path), path, context or {})


@contextlib.contextmanager
def located(path: Path | str, data: dict[str, Any] | None = None) -> Iterator[None]:
    """Give the errors that are raised inside the lines of their keys in the file at ``path``.

    Its tables are read again if ``data`` is left out: what is wrong with them was said before.
    """
    try:
        yield
    except InputError as error:
        if data is None:
            data = {}
            with contextlib.suppress(InputError):
                data = load_toml(path)
        lines = _lines(Path(path), data)
        found = [_with_line(one, Path(path), lines) for one in error.each]
        raise together(found) from error.__cause__


def _lines(path: Path, data: dict[str, Any]) -> dict[str, int]:
    try:
        found = key_lines(read_regular(path, LARGEST).decode("utf-8-sig"))
    # A line is only a help: whatever keeps it from being found must not hide the mistake.
    except (OSError, ValueError, LookupError, RecursionError):
        return {}
    return {_plain(key_text(loc, data)): line for loc, line in found.items()}


def _with_line(error: InputError, path: Path, lines: dict[str, int]) -> InputError:
    if not error.key or (error.file is not None and Path(error.file) != path):
        return error
    words = _plain(error.key).split(" ")
    for count in range(len(words), 0, -1):  # of a key that is missing, its table's line
        if (line := lines.get(" ".join(words[:count]))) is not None:
            return error.at(line=line)
    return error


def _plain(key: str) -> str:
    """Return a key's words alone: ``cue[0], layer[1]`` is ``cue[0].layer[1]`` too."""
    return re.sub(r"[.,\s]+", " ", key)
