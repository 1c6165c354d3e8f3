"""Text in TOML, read: `load_toml` gives plain dictionaries, or says what a file is instead."""

from __future__ import annotations

import contextlib
import tomllib
from pathlib import Path
from typing import Any

from lumenmap.core.errors import InputError
from lumenmap.core.files import near_file
from lumenmap.core.regular import read_regular

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


def load_toml(path: Path | str, kind: str = "TOML") -> dict[str, Any]:
    """Read a TOML file to plain dictionaries; ``kind`` is the kind of file expected.

    Raises
    ------
    InputError
        Missing, too large, not UTF-8, not TOML (with the line), or a file of another kind.
    """
    path = Path(path)
    data = parsed(text_of(path, kind), path)
    others = [name for name in _KINDS if name != kind and isinstance(data.get(name), (dict, list))]
    if kind in _KINDS and kind not in data and len(others) == 1:
        is_, takes = _KINDS[others[0]], _KINDS[kind]
        message = f"is {is_}; this command takes {takes}. For {is_}: {_COMMANDS[others[0]]}"
        raise InputError(message, file=path)
    return data


def parsed(text: str, path: Path) -> dict[str, Any]:
    """Return the tables of a file's text.

    Raises
    ------
    InputError
        Not TOML, with the line and what to write instead.
    """
    try:
        return tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # 5,000 digits raise a plain ValueError
        from lumenmap.core.toml.hints import explain

        message, excerpt = explain(text, str(error))
        raise InputError(f"isn't TOML: {message}", file=path, excerpt=excerpt) from None


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
        return data.decode("utf-8-sig")  # some editors on Windows begin a file with a mark
    except FileNotFoundError:
        said = f"no such file in {path.parent}{near_file(path, '*.toml')}"
        raise InputError(said, file=path) from None
    except IsADirectoryError:
        raise InputError(f"is a folder; expected {article}{_in(path, kind)}", file=path) from None
    except UnicodeDecodeError as error:
        if found := next((what for start, what in _MAGIC.items() if data.startswith(start)), ""):
            raise InputError(f"is {found}; expected {article}", file=path) from None
        message = f"is not UTF-8 text (byte {error.start}); save it as UTF-8 in your editor"
        raise InputError(message, file=path) from None
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
