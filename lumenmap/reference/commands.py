"""The commands, from the signatures that the command line is made from."""

from __future__ import annotations

import enum
import inspect
import types
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from lumenmap.reference.page import KEYS, Page, Section, meaning

#: Name to function, or to a group's commands.
Commands = Mapping[str, "Callable[..., Any] | Commands"]

_TITLE = "The commands"
_CODES = (
    ("0", "Done."),
    ("1", "A check failed: a budget, a checksum, a refresh rate."),
    ("2", "The input is wrong; the message says where, and what is expected."),
    ("70", "A fault of lumenmap's own; please report it."),
)
_TYPES = {int: "whole number", float: "number"}


def listing(known: Commands) -> Page:
    """Return what each command does, a row a command."""
    rows = tuple((path, _first(function)) for path, function in _flat("lumenmap", known))
    return Page(
        "commands",
        _TITLE,
        ("`lumenmap NAME --help` explains one and its options; so does `lumenmap help NAME`.",),
        (
            Section("Commands", "", ("command", "does"), rows),
            Section("Exit codes", "", ("code", "means"), _CODES),
        ),
    )


def in_full(known: Commands) -> Page:
    """Return every command with all its options, a row an option."""
    each = (_section(path, function) for path, function in _flat("lumenmap", known))
    return Page("commands", _TITLE, (), (*listing(known).sections, *each))


def one(known: Commands, name: str) -> Page:
    """Return the page of one command, or of the commands of one group."""
    found = _flat("lumenmap", {name: known[name]})
    parts = tuple(_section(path, function) for path, function in found)
    if len(parts) > 1:
        return Page(name, f"lumenmap {name}", (), parts)
    (only,) = parts
    return Page(name, only.title, (only.lead,), (replace(only, title="Options", lead=""),))


def _flat(path: str, known: Commands) -> Iterator[tuple[str, Callable[..., Any]]]:
    for name, found in known.items():
        if callable(found):
            yield f"{path} {name}", found
        else:
            yield from _flat(f"{path} {name}", found)


def _section(path: str, function: Callable[..., Any]) -> Section:
    hints = get_type_hints(function, include_extras=True)
    rows = tuple(_row(hints[p.name], p) for p in inspect.signature(function).parameters.values())
    return Section(path, _first(function), KEYS, rows)


def _first(function: Callable[..., Any]) -> str:
    text = (inspect.getdoc(function) or "").partition("\n\n")[0]
    return " ".join(text.split())


def _row(hint: Any, parameter: inspect.Parameter) -> tuple[str, str, str]:
    """Describe a parameter; its hint is ``Annotated[type, what the command line shows]``."""
    kind, info = get_args(hint)[:2]
    # In Annotated the library takes the first name for a default, and puts that right later.
    names = [n for n in (info.default, *(info.param_decls or ())) if str(n).startswith("-")]
    argument = type(info).__name__ == "ArgumentInfo"
    if argument:
        key = info.metavar or parameter.name.upper()
    else:
        key = ", ".join(names) or f"--{_dashed(parameter.name)}"
    flag = kind is bool
    named = argument and not _choices(kind)  # such as FILE: that says what it is
    value = "" if named or flag else (not argument and info.metavar) or _type(kind)
    required = parameter.default is inspect.Parameter.empty
    shown = "" if flag or required else _written(parameter.default)
    return key, value, meaning(info.help or "", shown, required=required)


def _written(default: Any) -> str:
    if default is None:
        return ""
    return f"{default:g}" if isinstance(default, float) else str(default)


def _dashed(name: str) -> str:
    return name.rstrip("_").replace("_", "-")


def _type(kind: Any) -> str:
    if get_origin(kind) is Annotated:
        return _type(get_args(kind)[0])
    if get_origin(kind) in (Union, types.UnionType):
        return _type(next(k for k in get_args(kind) if k is not type(None)))
    if choices := _choices(kind):
        return choices
    return "file" if kind is Path else _TYPES.get(kind, "text")


def _choices(kind: Any) -> str:
    if isinstance(kind, type) and issubclass(kind, enum.Enum):
        return ", ".join(str(member.value) for member in kind)
    return ""
