"""Palettes that a layer may name: the show's own, one's own files, the package's, and colours.

A palette file is ``NAME.palette.toml``, with the keys of a ``[palette.NAME]`` table. It lies in the
show's folder, or in the user's own folder for every show. It is read when it is first named, so
that a mistake in one doesn't stop shows that don't use it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from lumenmap.colour.palette import Palette
from lumenmap.colour.palettes import Row, rows
from lumenmap.core.errors import InputError
from lumenmap.core.system import user_config
from lumenmap.core.toml.reading import load_toml
from lumenmap.core.toml.tables import check, located
from lumenmap.show.file import PaletteTable

ENDING = ".palette.toml"


def own_folder() -> Path:
    """Return the folder of the user's own palettes; it needn't exist."""
    return user_config() / "palettes"


def palette_files(folder: Path | None = None) -> dict[str, Path]:
    """Return the palette files by name: those of a show's ``folder``, then the user's own."""
    found: dict[str, Path] = {}
    for place in (own_folder(), *([folder] if folder is not None else [])):
        try:
            names = sorted(p for p in place.iterdir() if p.name.endswith(ENDING))
        except OSError:  # no such folder, or one that isn't ours to read
            continue
        found |= {p.name.removesuffix(ENDING): p for p in names}
    return found


def read_palette(path: Path) -> Palette:
    """Read a palette file.

    Raises
    ------
    InputError
        Everything that is wrong in it.
    """
    raw = load_toml(path, "palette")
    table = check(PaletteTable, raw, path, {})
    with located(path, raw):
        return made(path.name.removesuffix(ENDING), table, path, "")


def made(name: str, table: PaletteTable, path: Path, key: str) -> Palette:
    """Return the palette of a table; ``key`` is the table's in the file.

    Raises
    ------
    InputError
        A stop isn't a colour, or positions fall.
    """
    try:
        return Palette(
            name,
            table.stops,
            space=table.space,
            hue=table.hue,
            cyclic=table.cyclic,
            steps=table.steps,
        )
    except InputError as error:
        inner = ".".join(part for part in (key, error.key or "stops") if part)
        raise InputError(error.message, file=path, key=inner) from None


class Shelf:
    """Palettes by name or by their colours; each is the same object however often it is asked for.

    Parameters
    ----------
    own
        Those of the show file.
    folder
        The show's.
    """

    def __init__(self, own: Mapping[str, Palette], folder: Path | None = None) -> None:
        self._own: dict[str, Palette | Row] = {**{row.name: row for row in rows()}, **own}
        self._files = {n: p for n, p in palette_files(folder).items() if n not in own}
        self._made: dict[str | tuple[str, ...], Palette] = {}

    @property
    def names(self) -> list[str]:
        """The names that it knows."""
        return [*self._own, *(n for n in self._files if n not in self._own)]

    def find(self, wish: str | Sequence[str]) -> Palette:
        """Return a palette.

        Parameters
        ----------
        wish
            Its name, a CSS colour, or a list of CSS colours. Without any, the first built-in one.

        Raises
        ------
        InputError
            It is none of these, with near matches; or its file is wrong.
        """
        if not wish:
            return self._named(next(iter(self._own)))
        key = wish if isinstance(wish, str) else tuple(wish)
        if key not in self._made:
            self._made[key] = self._find(key)
        return self._made[key]

    def _find(self, wish: str | tuple[str, ...]) -> Palette:
        if not isinstance(wish, str):
            return Palette(", ".join(wish), wish)
        if wish in self._files:
            return read_palette(self._files[wish])
        if wish in self._own:
            return self._named(wish)
        try:
            return Palette(wish, [wish])
        except InputError as error:
            if "#" in wish or "(" in wish:  # meant as a colour
                raise InputError(error.message) from None
            from lumenmap.show.suggest import no_palette

            raise InputError(no_palette(wish, self.names)) from None

    def _named(self, name: str) -> Palette:
        found = self._own[name]
        return found.palette if isinstance(found, Row) else found

    def all(self) -> dict[str, Palette]:
        """Return all that have a name.

        Raises
        ------
        InputError
            A palette file is wrong.
        """
        return {name: self.find(name) for name in self.names}
