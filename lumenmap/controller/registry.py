"""The registry of frame file formats: one module a format, found in installed packages.

A format is a function named as its file, ``name(frames, path, /, *, option=…)``, beside a constant
``SUFFIX``. Packages join the entry-point group ``lumenmap.formats``; the built-in ones come the
same way.
"""

from __future__ import annotations

import importlib
import importlib.metadata
import inspect
import pkgutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_type_hints

from lumenmap.controller.frameset import FrameSet
from lumenmap.core.errors import InputError, near, unknown
from lumenmap.core.files import whole_file

GROUP = "lumenmap.formats"

_YES_NO = {"yes": True, "true": True, "on": True, "no": False, "false": False, "off": False}


@dataclass(frozen=True, slots=True)
class Format:
    """A way to write frames.

    Attributes
    ----------
    suffix
        Of its files, with the dot.
    summary
        What it is, in a line.
    options
        Name to (type, default).
    """

    name: str
    suffix: str
    summary: str
    options: dict[str, tuple[type, Any]]
    function: Callable[..., Any]

    def write(self, frames: FrameSet, path: Path | str, options: Mapping[str, str]) -> Any:
        """Write ``path``, whole or not at all, with options as a person typed them.

        Returns
        -------
        What the format has to say about the file, if anything.

        Raises
        ------
        InputError
            No such option, or not a value for it.
        """
        given = {name: self._read(name, text) for name, text in options.items()}
        with whole_file(path) as beside:
            return self.function(frames, beside, **given)

    def _read(self, name: str, text: str) -> Any:
        if name not in self.options:
            listing = ", ".join(self.options) or "it has none"
            raise InputError(f'format "{self.name}" has no option "{name[:40]}"'
                             f"{near(name, self.options) or ';'} options: {listing}")  # fmt: skip
        kind, _ = self.options[name]
        try:
            return _YES_NO[text.lower()] if kind is bool else kind(text)
        except (KeyError, ValueError):
            wanted = {bool: "yes or no", int: "a whole number", float: "a number"}.get(kind, "text")
            raise InputError(f'option {name} is "{text[:40]}"; wanted {wanted}') from None


def formats() -> dict[str, Format]:
    """Find all formats.

    Raises
    ------
    InputError
        A module of an installed package that is no format.
    """
    found = {}
    for point in sorted(importlib.metadata.entry_points(group=GROUP), key=lambda p: p.value):
        package = importlib.import_module(point.module)
        for info in pkgutil.iter_modules(package.__path__):
            module = importlib.import_module(f"{point.module}.{info.name}")
            function, suffix = getattr(module, info.name, None), getattr(module, "SUFFIX", None)
            if not callable(function) or not isinstance(suffix, str):
                raise InputError(f"{module.__name__}: a format holds a function {info.name} and "
                                 "a text SUFFIX")  # fmt: skip
            found[info.name] = _format(info.name, suffix, function)
    return found


def format_named(name: str) -> Format:
    """Return a format, or say which there are."""
    known = formats()
    if name not in known:
        raise InputError(unknown("format", name, known))
    return known[name]


def _format(name: str, suffix: str, function: Callable[..., Any]) -> Format:
    hints = get_type_hints(function)
    options = {
        p.name: (hints.get(p.name, str), p.default)
        for p in inspect.signature(function).parameters.values()
        if p.kind is p.KEYWORD_ONLY
    }
    summary = (inspect.getdoc(function) or "").partition("\n")[0]
    return Format(name, suffix, summary, options, function)
