"""`Effect`: one effect as a show uses it, and how it is read from the module that defines it."""

from __future__ import annotations

import hashlib
import importlib
import importlib.util
import inspect
import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from types import ModuleType
from typing import Any, get_type_hints

from lumenmap.core.aside import prints_aside
from lumenmap.core.errors import InputError
from lumenmap.core.toml.meant import meant
from lumenmap.motion.options import Seed
from lumenmap.motion.reading import Reading
from lumenmap.show.effects import renamed
from lumenmap.show.effects.errors import cant_load
from lumenmap.show.effects.specs import Spec, spec_of, words_of

#: How the names of modules begin that come from folders.
_FOLDER = "lumenmap_folder_"


@dataclass(frozen=True, slots=True)
class Effect:
    """A function of place and time, and the options it takes.

    Attributes
    ----------
    function
        ``(at, t, palette, /, **options) -> (T, N, 3)`` float32 linear light.
    summary
        The first line of its docstring.
    source
        The package or folder that it comes from.
    file
        The file that defines it.
    words
        Plain words that lead to it: after ``Found by:`` in its docstring.
    """

    name: str
    function: Callable[..., Any]
    options: dict[str, Spec]
    summary: str
    source: str
    file: Path
    words: tuple[str, ...] = ()

    @property
    def from_folder(self) -> bool:
        """Whether it comes from a folder that the user named, not from an installed package."""
        return self.function.__module__.startswith(_FOLDER)

    @property
    def driven_by(self) -> str:
        """The option that a layer's ``over`` sets: how long it takes, or how fast it goes."""
        if "period" in self.options:
            return "period"
        along = "way" in self.options or "start" in self.options
        return "speed" if "speed" in self.options and along else ""

    def __reduce__(self) -> tuple[Any, ...]:
        """Pickle as a name: a worker process finds or loads the code again."""
        return _again, (self.function.__module__, self.file, self.source)

    def read(
        self,
        given: dict[str, object],
        reading: Reading | str = "m",
        *,
        beside: Iterable[str] = (),
    ) -> dict[str, Any]:
        """Return all options in SI: those given, and defaults for the others.

        A seed that isn't given is left out, for the renderer to fill in.

        Parameters
        ----------
        given
            Values as in a file.
        reading
            The file's unit, tempo and folder; or just the length unit of a bare number.
        beside
            Keys that may stand beside the options, one of which may be meant.

        Raises
        ------
        InputError
            An unknown option, or a value that is not of its kind or out of range; the key is the
            option's name.
        """
        for name in given:
            if name not in self.options:
                if (change := renamed.option(self.name, name)) is not None:
                    raise InputError(change, key=name)
                listing = ", ".join(self.options) or "none"
                hint = meant(name, [*self.options, *beside]) or "."
                raise InputError(
                    f"{self.name} has no such option{hint} Options: {listing}",
                    key=name[:80],
                )
        if isinstance(reading, str):
            reading = Reading(reading)
        values = {
            spec.name: spec.default
            for spec in self.options.values()
            if not isinstance(spec.kind, Seed)
        }
        for name, value in given.items():
            try:
                values[name] = self.options[name].read(value, reading)
            except InputError as error:
                raise error.within(name) from None
        return values


def _load(file: Path) -> ModuleType:
    # A name of its own, the same in every process, so that two folders can't be confused.
    digest = hashlib.sha256(str(file.resolve()).encode()).hexdigest()[:12]
    name = f"{_FOLDER}{digest}_{file.stem}"
    spec = importlib.util.spec_from_file_location(name, file)
    if spec is None or spec.loader is None:
        raise InputError("can't be loaded as Python", file=file)
    module = importlib.util.module_from_spec(spec)
    sys.modules[name] = module
    try:
        with prints_aside():
            spec.loader.exec_module(module)
    except (Exception, SystemExit) as error:
        del sys.modules[name]
        raise cant_load(f"the effect file {file.name}", error, file) from error
    return module


def from_file(file: Path, source: str) -> Effect:
    """Run a file of a folder that the user named, and return its effect.

    Raises
    ------
    InputError
        It can't be loaded; or as `from_module`.
    """
    return from_module(_load(file), file, source)


def _again(module: str, file: Path, source: str) -> Effect:
    try:
        return from_module(importlib.import_module(module), file, source)
    except ImportError:
        return from_file(file, source)


def from_module(module: ModuleType, file: Path, source: str) -> Effect:
    """Return the effect that a loaded module defines.

    Raises
    ------
    InputError
        The file has no function of its own name, or one with another signature.
    """
    name = file.stem
    function = getattr(module, name, None)
    if not inspect.isfunction(function):
        raise InputError(f'has no function named "{name}" like the file', file=file)
    parameters = list(inspect.signature(function).parameters.values())
    first = [p.name for p in parameters if p.kind is inspect.Parameter.POSITIONAL_ONLY]
    if first != ["at", "t", "palette"] or any(
        p.kind not in (p.POSITIONAL_ONLY, p.KEYWORD_ONLY) for p in parameters
    ):
        raise InputError(
            f"{name} must start ({name}(at, t, palette, /, *, …), with all options after the *",
            file=file,
        )
    summary = (inspect.getdoc(function) or "").partition("\n")[0].strip()
    if not summary:
        raise InputError(f"{name} needs a docstring; its first line is the help", file=file)
    try:
        hints = get_type_hints(function, include_extras=True)
    except Exception as error:
        raise InputError(f"{name}'s annotations can't be read: {error}", file=file) from error
    options = {
        p.name: spec_of(p, hints.get(p.name), file) for p in parameters if p.kind is p.KEYWORD_ONLY
    }
    return Effect(name, function, options, summary, source, file, words_of(function))
