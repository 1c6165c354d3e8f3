"""The registry of effects, from installed packages and from folders that the user names.

An effect is a function named as its file, ``name(at, t, palette, /, *, option=…)``. Packages join
the entry-point group ``lumenmap.effects``; every module of the package and its subpackages holds
one effect, so a new file is found without installing again; it is imported when the effect is first
asked for. Effects are code: nothing in a show file can name a folder of them.
"""

from __future__ import annotations

import importlib
import importlib.metadata
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from functools import lru_cache, partial
from pathlib import Path
from typing import NamedTuple

from lumenmap.core.aside import prints_aside
from lumenmap.core.errors import InputError
from lumenmap.show.effects.effect import Effect, from_file, from_module
from lumenmap.show.effects.errors import cant_load
from lumenmap.show.effects.known import Known

GROUP = "lumenmap.effects"


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
    from lumenmap.show.effects.rehearsal import rehearse

    if not folder.is_dir():
        raise InputError("isn't a folder; expected a folder of effect files", file=folder)
    files = sorted(folder.glob("[!_]*.py"))
    for file in files:
        if not file.is_file():
            raise InputError("isn't a file; expected an effect", file=file)
    rehearse(files)
    for file in files:
        yield from_file(file, str(folder))
