"""The folder that was opened: the files in it that the desk reads and writes, and no others.

Strategy: a browser names a file; the desk looks the name up in its own list of the folder, and
never makes a path of what it was given.
"""

from __future__ import annotations

import codecs
import os
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from lumenmap.core import system
from lumenmap.core.errors import InputError, near
from lumenmap.core.files import inside, whole_file, write_whole
from lumenmap.core.plain import plain
from lumenmap.core.regular import read_regular
from lumenmap.core.toml.reading import LARGEST, load_toml

Kind = Literal["house", "show", "almanac"]
_KINDS: tuple[Kind, ...] = ("house", "almanac", "show")
#: Files of a folder that are looked at, at most.
MOST_FILES = 500
#: The end of the name of a file that was taken off the list.
AWAY = ".removed"


class ChangedError(InputError):
    """A file isn't what it was when it was read; read it again, then try again."""


@dataclass(frozen=True, slots=True)
class Listed:
    """A file of the folder: its kind, if it can be read; else what it seems to be, and why not."""

    name: str
    kind: Kind | None
    problem: InputError | None = None


class Folder:
    """A house's folder.

    Raises
    ------
    InputError
        Not a folder, or one without a house.
    """

    def __init__(self, path: Path) -> None:
        if not path.exists():
            raise InputError(f"no such folder; lumenmap new {path} makes one to start", file=path)
        if not path.is_dir():
            raise InputError("isn't a folder; name the folder that the house is in", file=path)
        self.path = path
        self.files: dict[str, Listed] = {}
        self.look()
        if self.house is None:
            raise InputError(
                f"has no house file; lumenmap new {path} makes one to start from", file=path
            )

    def look(self) -> None:
        """List the folder again."""
        before, self.files = self.files, {}
        names = sorted(p.name for p in self.path.glob("*.toml"))[:MOST_FILES]
        for name in names:
            path = inside(self.path, name)
            if path is None or path.is_symlink() or not path.is_file():
                continue
            try:
                data = load_toml(path)
            except InputError as error:
                # Broken for the moment, it stays what it was; before, its name tells.
                known = before[name].kind if name in before else None
                self.files[name] = Listed(name, known or _by_name(name), error)
            else:
                # An empty file may be one that an editor writes just now: its name tells.
                kind = next((k for k in _KINDS if k in data or name == f"{k}.toml"), None)
                if kind is not None:
                    self.files[name] = Listed(name, kind)

    def named(self, kind: Kind) -> list[str]:
        """Return the names of the files of a kind, the usual one first."""
        names = [f.name for f in self.files.values() if f.kind == kind]
        return sorted(names, key=lambda n: (n != f"{kind}.toml", n))

    @property
    def house(self) -> str | None:
        """The house file's name."""
        return next(iter(self.named("house")), None)

    @property
    def almanac(self) -> str | None:
        """The almanac's name."""
        return next(iter(self.named("almanac")), None)

    def path_of(self, name: str, kind: Kind | None = None) -> Path:
        """Return the path of a file that is listed.

        Raises
        ------
        InputError
            It isn't.
        """
        found = self.files.get(name)
        if found is None or (kind is not None and found.kind != kind):
            names = self.named(kind) if kind else list(self.files)
            what = f"no {kind} file" if kind else "no file"
            raise InputError(f'{what} "{plain(name, 60)}" in this folder{near(name, names)}')
        return self.path / found.name

    def read(self, name: str) -> str:
        """Return a listed file's text.

        Raises
        ------
        InputError
            It isn't listed or can't be read.
        """
        if name not in self.files:
            raise InputError("isn't there any more: it was deleted, moved or renamed", file=name)
        path = self.path_of(name)
        try:
            return read_regular(path, LARGEST).decode("utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            raise InputError(f"can't be read: {error}", file=path) from None

    def write(self, name: str, text: str, before: str) -> None:
        """Write a listed file, whole, if it still holds what was there ``before``.

        Raises
        ------
        ChangedError
            Somebody else has saved it meanwhile; it is left as they saved it.
        InputError
            It isn't listed or can't be written.
        """
        path = self.path_of(name)
        with whole_file(path, flush=False) as draft:
            draft.write_bytes(text.encode())
            # What is slow is done before the last look, so that no save falls in between.
            system.flush(draft)
            if path.read_bytes().removeprefix(codecs.BOM_UTF8) != before.encode():
                raise ChangedError("was saved by somebody else meanwhile", file=path)
        system.flush(path.parent)

    def free_name(self, title: str) -> str:
        """Return the name of a file that isn't there yet, made of a title."""
        stem = re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")[:40] or "show"
        name = self._free(stem, ".toml")
        if name is None:
            raise InputError(f'there are too many shows called "{plain(title, 60)}"')
        return name

    def create(self, name: str, text: str) -> None:
        """Write a new file under a `free_name`.

        Raises
        ------
        InputError
            It can't be written.
        """
        write_whole(self.path / name, text)
        self.look()

    def put_away(self, name: str) -> str:
        """Take a listed file off the list, and keep it; return its name from now on.

        Raises
        ------
        InputError
            It isn't listed, or can't be renamed.
        """
        path = self.path_of(name)
        kept = self._free(f"{name}{AWAY}")
        if kept is None:
            raise InputError(f"was removed too often; delete old {name}{AWAY} files", file=path)
        self._rename(path, self.path / kept)
        return kept

    def bring_back(self, kept: str, name: str) -> None:
        """Put a file on the list again that was `put_away`.

        Raises
        ------
        InputError
            It isn't there any more, another file has its name, or it can't be renamed.
        """
        if os.path.lexists(self.path / name):
            raise InputError(
                f"can't be put back: there is a new file called {name}; rename that one first",
                file=self.path / kept,
            )
        self._rename(self.path / kept, self.path / name)

    def _free(self, stem: str, ending: str = "") -> str | None:
        """Return the first name that nothing has, a link that leads nowhere neither."""
        names = (f"{stem}{n}{ending}" for n in ("", *(f"-{i}" for i in range(2, 100))))
        return next((name for name in names if not os.path.lexists(self.path / name)), None)

    def _rename(self, path: Path, new: Path) -> None:
        try:
            path.rename(new)
        except OSError as error:
            raise InputError(f"can't be renamed to {new.name}: {error}", file=path) from None
        system.flush(self.path)
        self.look()


def _by_name(name: str) -> Kind:
    return next((k for k in _KINDS if name == f"{k}.toml"), "show")
