"""The registry of effects, from installed packages and from folders that the user names.

An effect is a function named as its file, ``name(at, t, palette, /, *, option=…)``. Packages join
the entry-point group ``lumenmap.effects``; every module of the package and its subpackages holds
one effect, so a new file is found without installing again; it is imported when the effect is first
asked for. Effects are code: nothing in a show file can name a folder of them.
"""

from __future__ import annotations

import hashlib
import importlib
import importlib.metadata
import importlib.util
import inspect
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache, partial
from pathlib import Path
from types import ModuleType
from typing import Any, NamedTuple, get_type_hints

from lumenmap.core.aside import prints_aside
from lumenmap.core.errors import InputError, near
from lumenmap.motion.options import Seed
from lumenmap.motion.reading import Reading
from lumenmap.show.effects import renamed
from lumenmap.show.effects.errors import cant_load
from lumenmap.show.effects.known import Known
from lumenmap.show.effects.rehearsal import rehearse
from lumenmap.show.effects.specs import Spec, spec_of, words_of

GROUP = "lumenmap.effects"
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

    def read(self, given: dict[str, object], reading: Reading | str = "m") -> dict[str, Any]:
        """Return all options in SI: those given, and defaults for the others.

        A seed that isn't given is left out, for the renderer to fill in.

        Parameters
        ----------
        given
            Values as in a file.
        reading
            The file's unit, tempo and folder; or just the length unit of a bare number.

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
                raise InputError(
                    f"{self.name} has no such option{near(name, self.options) or '.'} "
                    f"Options: {listing}",
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


class _Found(NamedTuple):
    """An effect that was found: by its file's name, where, and what reads it."""

    name: str
    source: str
    read: Callable[[], Effect]


def effects(folders: Iterable[Path | str] = ()) -> Mapping[str, Effect]:
    """Find all effects: installed ones, then those in ``folders``, which may not replace others.

    An installed one is read when it is asked for, and an `InputError` says then what is wrong.

    Raises
    ------
    InputError
        A file in a folder isn't an effect: which one, and what is wrong. Two have one name.
    """
    installed = _installed(tuple(sys.path))
    own = [effect for folder in folders for effect in _in_folder(Path(folder))]
    if not own:
        return installed.effects
    found = dict(installed.found)
    for effect in own:
        _add(found, _Found(effect.name, effect.source, partial(_same, effect)))
    return _known(found)


def _same(effect: Effect) -> Effect:
    return effect


class _Installed(NamedTuple):
    found: dict[str, _Found]
    effects: Known[Effect]


@lru_cache(maxsize=2)
def _installed(_path: tuple[str, ...]) -> _Installed:
    """Return the effects of installed packages, which change with Python's path alone."""
    found: dict[str, _Found] = {}
    for point in sorted(importlib.metadata.entry_points(group=GROUP), key=lambda p: p.name):
        for effect in _in_package(point):
            _add(found, effect)
    return _Installed(found, _known(found))


def _known(found: Mapping[str, _Found]) -> Known[Effect]:
    return Known({name: each.read for name, each in found.items()})


def _add(found: dict[str, _Found], effect: _Found) -> None:
    if (other := found.get(effect.name)) is not None:
        raise InputError(
            f'there are two effects "{effect.name}", in {other.source} and in {effect.source}; '
            "rename one"
        )
    found[effect.name] = effect


def _in_package(point: importlib.metadata.EntryPoint) -> Iterator[_Found]:
    try:
        with prints_aside():
            package = importlib.import_module(point.value)
    except (Exception, SystemExit) as error:
        raise cant_load(f'the effects package "{point.value}"', error, Path()) from error
    for folder in getattr(package, "__path__", ()):
        for file in sorted(Path(folder).rglob("[!_]*.py"), key=lambda f: f.stem):
            name = ".".join((point.value, *file.relative_to(folder).with_suffix("").parts))
            yield _Found(file.stem, point.value, partial(_imported, name, file, point.value))


def _imported(module: str, file: Path, source: str) -> Effect:
    """Return the effect of an installed package's module."""
    try:
        with prints_aside():
            found = importlib.import_module(module)
    except (Exception, SystemExit) as error:
        raise cant_load(f"the effect {module}", error, file) from error
    return from_module(found, file, source)


def _in_folder(folder: Path) -> Iterator[Effect]:
    if not folder.is_dir():
        raise InputError("isn't a folder; expected a folder of effect files", file=folder)
    files = sorted(folder.glob("[!_]*.py"))
    for file in files:
        if not file.is_file():
            raise InputError("isn't a file; expected an effect", file=file)
    rehearse(files)
    for file in files:
        yield from_module(_load(file), file, str(folder))


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


def _again(module: str, file: Path, source: str) -> Effect:
    try:
        return from_module(importlib.import_module(module), file, source)
    except ImportError:
        return from_module(_load(file), file, source)


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
