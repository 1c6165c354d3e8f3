"""Errors in the words of the command line: parameters of the library become flags.

The library names parameters: ``InputError("is 0; …", key="width")``, or in backquotes inside a
sentence. At the command line they are ``--width`` and the like. This is the one place that
translates.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any

from lumenmap.core.errors import InputError, LumenmapError, together


def command_named(top: Any, words: Sequence[str]) -> Any:
    """Return the command that a command line runs, or the group that it stops at.

    Parameters
    ----------
    top
        The group of all commands, as the command-line library builds it.
    words
        The command line after the program's name.
    """
    command = top
    for word in words:
        inner = getattr(command, "commands", {}).get(word)
        if inner is None:
            break
        command = inner
    return command


def flags(command: Any) -> dict[str, str]:
    """Return what a person types for each parameter: its long flag, or an argument's name."""
    found: dict[str, str] = {}
    for parameter in command.params:
        long = [name for name in parameter.opts if name.startswith("--")]
        shown = long[0] if long else parameter.metavar or parameter.name.upper()
        found[parameter.name] = shown
        for name in long:
            found.setdefault(name[2:].replace("-", "_"), shown)
    return found


def in_flags(error: LumenmapError, command: Any) -> str:
    """Return the text of an error with the command's flags for its parameters.

    A key in a file stays as it is, whatever it is called.
    """
    known = flags(command)

    def named(text: str) -> str:
        return re.sub(r"`(\w+)`", lambda m: known.get(m[1], m[0]), text)

    def translated(one: InputError) -> InputError:
        key = known.get(one.key, one.key) if one.file is None else one.key
        return InputError(
            named(one.message), file=one.file, key=key, line=one.line, excerpt=one.excerpt
        )

    if not isinstance(error, InputError):
        return named(str(error))
    return str(together([translated(one) for one in error.each]))
