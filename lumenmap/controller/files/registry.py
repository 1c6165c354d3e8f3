"""The registry of frame file formats: one module a format, found in installed packages.

A format is a function named as its file, ``name(frames, path, /, *, option=…)``, beside a constant
``SUFFIX``. Packages join the entry-point group ``lumenmap.formats``; the built-in ones come the
same way.
"""

from __future__ import annotations

import importlib
import importlib.metadata
import importlib.resources
import inspect
import pkgutil
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, get_type_hints

from lumenmap.controller.files.frameset import FrameSet, open_frames
from lumenmap.core.errors import InputError, near, unknown
from lumenmap.core.files import whole_file, write_whole

GROUP = "lumenmap.formats"
#: What a part of 4 MB leaves for files at most (filesystem page of the common microcontroller
#: core: 1, 2 or 3 MB).
FLASH_SUFFIX, FLASH_BYTES = ".lmfi", 3 << 20

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
            raise InputError(
                f'format "{self.name}" has no option "{name[:40]}"'
                f"{near(name, self.options) or ';'} options: {listing}"
            )
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
                raise InputError(
                    f"{module.__name__}: a format holds a function {info.name} and a text SUFFIX"
                )
            found[info.name] = _format(info.name, suffix, function)
    return found


def format_named(name: str) -> Format:
    """Return a format, or say which there are."""
    known = formats()
    if name not in known:
        raise InputError(unknown("format", name, known))
    return known[name]


def read_options(names: Sequence[str], options: Sequence[str]) -> dict[str, dict[str, str]]:
    """Return, for each format named, the ``name=value`` options that are its.

    Raises
    ------
    InputError
        No such format, or an option that none of them has.
    """
    chosen = {name: format_named(name) for name in names}
    out: dict[str, dict[str, str]] = {name: {} for name in chosen}
    for text in options:
        key, equals, value = text.partition("=")
        owners = [name for name, f in chosen.items() if key in f.options]
        if not equals or not owners:
            known = sorted({o for f in chosen.values() for o in f.options})
            wrong = f'"{text[:40]}" is no option; wanted NAME=VALUE'
            raise InputError(unknown("option", key, known) if equals else wrong, key="--option")
        for name in owners:
            out[name][key] = value
    return out


def write_formats(folder: Path, wanted: Mapping[str, Mapping[str, str]]) -> list[dict[str, Any]]:
    """Write an export's frames in further formats beside it; return what was written.

    The flash image's C decoder is laid beside the image.
    """
    if not wanted:
        return []
    frames = open_frames(folder)
    written = []
    for name, options in wanted.items():
        made = format_named(name)
        path = folder / f"frames{made.suffix}"
        note = made.write(frames, path, options)
        size = path.stat().st_size
        words = f" ({note})" if note is not None else ""
        if made.suffix == FLASH_SUFFIX and size > FLASH_BYTES:
            words += f"; a flash of 4 MB has room for {FLASH_BYTES:,} at most"
        written.append({"file": path.name, "bytes": size, "note": words})
    if {"flash", "c_array"} & set(wanted):
        decoder = importlib.resources.files("lumenmap.controller").joinpath("c")
        for source in sorted(decoder.iterdir(), key=lambda s: s.name):
            data = source.read_bytes()
            write_whole(folder / source.name, data)
            written.append({"file": source.name, "bytes": len(data), "note": ""})
    return written


def _format(name: str, suffix: str, function: Callable[..., Any]) -> Format:
    hints = get_type_hints(function)
    options = {
        p.name: (hints.get(p.name, str), p.default)
        for p in inspect.signature(function).parameters.values()
        if p.kind is p.KEYWORD_ONLY
    }
    summary = (inspect.getdoc(function) or "").partition("\n")[0]
    return Format(name, suffix, summary, options, function)
