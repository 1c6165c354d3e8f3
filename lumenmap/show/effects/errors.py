"""Errors of effects, with the line of the effect's own file."""

from __future__ import annotations

import traceback
from pathlib import Path

from lumenmap.core.errors import InputError


def cant_load(what: str, error: BaseException, file: Path) -> InputError:
    """Return an error about code that can't be loaded, with the line of its file."""
    said = error.msg if isinstance(error, SyntaxError) else error
    line = error.lineno if isinstance(error, SyntaxError) else line_in(error, file)
    place = f" at {file.name} line {line}" if line else ""
    return InputError(f"{what} can't be loaded: {type(error).__name__}: {said}{place}")


def line_in(error: BaseException, file: Path) -> int | None:
    """Return the line of a file in which an error was raised, if it was raised there."""
    steps = traceback.extract_tb(error.__traceback__)
    lines = [step.lineno for step in steps if Path(step.filename).resolve() == file.resolve()]
    return lines[-1] if lines else None
