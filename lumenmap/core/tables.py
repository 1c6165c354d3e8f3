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
import tomllib
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel, ConfigDict, ValidationError

from lumenmap.core.errors import InputError, near, together
from lumenmap.core.lines import key_lines
from lumenmap.core.regular import read_regular
from lumenmap.core.toml_hints import explain
from lumenmap.core.validation import errors_in, key_text

#: A house or show file is text that a person wrote; a larger one is a mistake (bytes).
LARGEST = 2_000_000

#: How other files begin that are given by mistake, and what they are.
_MAGIC = {
    b"\x89PNG": "a picture",
    b"\xff\xd8\xff": "a picture",
    b"GIF8": "a picture",
    b"RIFF": "a picture",
    b"%PDF": "a PDF",
    b"PK": "a zip archive or an office document",
}
#: The table that each kind of file has and no other kind has.
_KINDS = {
    "house": "a house file",
    "show": "a show file",
    "almanac": "an almanac file",
    "photo": "a file of marks",
}
#: Commands for a file that was given to another one: those that one thinks of first.
_COMMANDS = {
    "house": "lumenmap power, map or sheets",
    "show": "lumenmap check, make or preview",
    "almanac": "lumenmap tonight, year or run",
    "photo": "lumenmap marks, or preview --photo",
}

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
    )


def load_toml(path: Path | str, kind: str = "TOML") -> dict[str, Any]:
    """Read a TOML file to plain dictionaries; ``kind`` is the kind of file expected.

    Raises
    ------
    InputError
        Missing, too large, not UTF-8, not TOML (with the line), or a file of another kind.
    """
    path = Path(path)
    text = text_of(path, kind)
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # 5,000 digits raise a plain ValueError
        message, excerpt = explain(text, str(error))
        raise InputError(f"is not TOML: {message}", file=path, excerpt=excerpt) from None
    others = [name for name in _KINDS if name != kind and name in data]
    if kind in _KINDS and kind not in data and len(others) == 1:
        is_, takes = _KINDS[others[0]], _KINDS[kind]
        message = f"is {is_}; this command takes {takes}. For {is_}: {_COMMANDS[others[0]]}"
        raise InputError(message, file=path)
    return data


def text_of(path: Path, kind: str) -> str:
    """Return a TOML file's text.

    Raises
    ------
    InputError
        Missing, too large, not UTF-8, or a file of another kind by its first bytes.
    """
    article = _KINDS.get(kind, f"a {kind} file")
    try:
        data = read_regular(path, LARGEST, f"{article}, which is far smaller")
        return data.decode()
    except FileNotFoundError:
        others = [p.name for p in path.parent.glob("*.toml")] if path.parent.is_dir() else []
        hint = near(path.name, others)
        raise InputError(f"no such file in {path.parent}{hint}", file=path) from None
    except IsADirectoryError:
        raise InputError(f"is a folder; expected {article}{_in(path, kind)}", file=path) from None
    except UnicodeDecodeError as error:
        if found := next((what for start, what in _MAGIC.items() if data.startswith(start)), ""):
            raise InputError(f"is {found}; expected {article}", file=path) from None
        raise InputError(f"is not UTF-8 text (byte {error.start})", file=path) from None
    except InputError:
        raise
    except ValueError as error:  # a NUL in the path
        raise InputError(f"can't be read: {error}", file=path) from None
    except OSError as error:
        raise InputError(f"can't be read: {error.strerror}", file=path) from None


def _in(folder: Path, kind: str) -> str:
    """Return which files of a kind are in a folder, by their table; empty if there are none."""
    found = []
    for path in sorted(folder.glob("*.toml")):
        with contextlib.suppress(InputError, OSError, ValueError, RecursionError):
            if kind in tomllib.loads(read_regular(path, LARGEST, "a file").decode()):
                found.append(str(path))
    return f", such as {' or '.join(found[:3])}" if found else ""


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
            # What is missing because it was wrong is one mistake, not two.
            known = {one.key for one in first}
            new = [one for one in found.each if one.key not in known]
            raise together([*first, *new]) from found.__cause__
        if refused:
            raise refused
        return made


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
def located(path: Path | str, data: dict[str, Any]) -> Iterator[None]:
    """Give the errors that are raised inside the lines of their keys in the file at ``path``."""
    try:
        yield
    except InputError as error:
        lines = _lines(Path(path), data)
        found = [_with_line(one, Path(path), lines) for one in error.each]
        raise together(found) from error.__cause__


def _lines(path: Path, data: dict[str, Any]) -> dict[str, int]:
    try:
        found = key_lines(read_regular(path, LARGEST).decode())
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
