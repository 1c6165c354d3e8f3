"""The registry of frame file formats: one module per format, found in installed packages.

A format is a function with the name of its module, ``name(frames, path, /, *, option=…)``, and a
constant ``SUFFIX``; a function ``beside(frames)`` may give further files. Packages join the
entry-point group ``lumenmap.formats``; the built-in formats come the same way.
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
from lumenmap.core.folders.output_set import OutputSet

GROUP = "lumenmap.formats"
#: The most that a flash memory of 4 MB leaves for files (1, 2 or 3 MB; from memory of the
#: filesystem settings of a common microcontroller core).
FLASH_SUFFIX, FLASH_BYTES = ".lmfi", 3 << 20

_YES_NO = {"yes": True, "true": True, "on": True, "no": False, "false": False, "off": False}


@dataclass(frozen=True, slots=True)
class Format:
    """A frame file format.

    Attributes
    ----------
    suffix
        Of its files, with the dot.
    summary
        One line that describes it.
    options
        (type, default) by name.
    beside
        Gives the further files that belong beside it, if any, by their path in the folder.
    """

    name: str
    suffix: str
    summary: str
    options: dict[str, tuple[type, Any]]
    function: Callable[..., Any]
    beside: Callable[[FrameSet], dict[str, bytes]] | None = None

    def write(self, frames: FrameSet, path: Path | str, options: Mapping[str, str]) -> Any:
        """Write ``path``, whole or not at all, with options given as strings.

        Returns
        -------
        What the format reports about the file, or None.

        Raises
        ------
        InputError
            No such option, or a value it can't take.
        """
        given = {name: self._read(name, text) for name, text in options.items()}
        with whole_file(path) as partial:
            return self.function(frames, partial, **given)

    def _read(self, name: str, text: str) -> Any:
        if name not in self.options:
            listing = ", ".join(self.options) or "none"
            raise InputError(
                f'format "{self.name}" has no option "{name[:40]}"'
                f"{near(name, self.options) or ';'} options: {listing}"
            )
        kind, _ = self.options[name]
        try:
            return _YES_NO[text.lower()] if kind is bool else kind(text)
        except (KeyError, ValueError):
            expected = {bool: "yes or no", int: "a whole number", float: "a number"}.get(
                kind, "text"
            )
            raise InputError(f'option {name} is "{text[:40]}"; expected {expected}') from None


def formats() -> dict[str, Format]:
    """Find all formats.

    Raises
    ------
    InputError
        A module of an installed package that isn't a format.
    """
    found = {}
    for point in sorted(importlib.metadata.entry_points(group=GROUP), key=lambda p: p.value):
        package = importlib.import_module(point.module)
        for info in pkgutil.iter_modules(package.__path__):
            module = importlib.import_module(f"{point.module}.{info.name}")
            function, suffix = getattr(module, info.name, None), getattr(module, "SUFFIX", None)
            if not callable(function) or not isinstance(suffix, str):
                raise InputError(
                    f"{module.__name__}: isn't a format; expected a function {info.name} and a "
                    "string SUFFIX"
                )
            extra = getattr(module, "beside", None)
            found[info.name] = _format(info.name, suffix, function, extra)
    return found


def format_named(name: str) -> Format:
    """Return a format.

    Raises
    ------
    InputError
        No such format; lists those there are.
    """
    known = formats()
    if name not in known:
        raise InputError(unknown("format", name, known))
    return known[name]


def check_ending(name: str, path: Path) -> None:
    """Refuse a file name that promises another kind of file than the format writes.

    Raises
    ------
    InputError
        An ending that isn't the format's own; none at all, or ".bin", says nothing.
    """
    own = format_named(name).suffix
    if path.suffix.lower() not in ("", ".bin", own):
        others = [f.name for f in formats().values() if f.suffix == path.suffix.lower()]
        hint = f"; --format {others[0]} writes {path.suffix}" if others else ""
        raise InputError(
            f'ends in "{path.suffix}", but format "{name}" writes {own} files{hint}', file=path
        )


def read_options(names: Sequence[str], options: Sequence[str]) -> dict[str, dict[str, str]]:
    """Return the ``name=value`` options that belong to each of the named formats.

    Raises
    ------
    InputError
        No such format, or an option that none of the formats has.
    """
    chosen = {name: format_named(name) for name in names}
    out: dict[str, dict[str, str]] = {name: {} for name in chosen}
    for text in options:
        key, equals, value = text.partition("=")
        owners = [name for name, f in chosen.items() if key in f.options]
        if not equals or not owners:
            known = sorted({o for f in chosen.values() for o in f.options})
            wrong = f'is "{text[:40]}"; expected NAME=VALUE'
            raise InputError(unknown("option", key, known) if equals else wrong, key="option")
        for name in owners:
            out[name][key] = value
    return out


def write_formats(folder: Path, chosen: Mapping[str, Mapping[str, str]]) -> list[dict[str, Any]]:
    """Write exported frames in further formats into their folder; return what was written.

    A format's further files, such as the flash image's C decoder, come with its own.
    """
    if not chosen:
        return []
    frames = open_frames(folder)
    written = []
    with OutputSet(folder) as files:
        for name, options in chosen.items():
            made = format_named(name)
            path = files.path(f"frames{made.suffix}")
            note = made.write(frames, path, options)
            size = path.stat().st_size
            text = f" ({note})" if note is not None else ""
            if made.suffix == FLASH_SUFFIX and size > FLASH_BYTES:
                text += f"; 4 MB of flash memory holds at most {FLASH_BYTES:,} bytes"
            written.append({"file": f"frames{made.suffix}", "bytes": size, "note": text})
        extra: dict[str, bytes] = {}
        for name in chosen:
            if (more := format_named(name).beside) is not None:
                extra |= more(frames)
        for place, data in extra.items():
            if "/" not in place:
                files.path(place).write_bytes(data)
    for place, data in extra.items():
        if "/" in place:  # sources in folders of their own, the same for every show
            (folder / place).parent.mkdir(parents=True, exist_ok=True)
            write_whole(folder / place, data)
        written.append({"file": place, "bytes": len(data), "note": ""})
    return written


def _format(
    name: str,
    suffix: str,
    function: Callable[..., Any],
    beside: Callable[[FrameSet], dict[str, bytes]] | None,
) -> Format:
    hints = get_type_hints(function)
    options = {
        p.name: (hints.get(p.name, str), p.default)
        for p in inspect.signature(function).parameters.values()
        if p.kind is p.KEYWORD_ONLY
    }
    summary = (inspect.getdoc(function) or "").partition("\n")[0]
    return Format(name, suffix, summary, options, function, beside)
