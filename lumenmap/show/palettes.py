"""Palettes by name: those of a show file, one's own files, and those that come with the package."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from lumenmap.colour.palettes import rows
from lumenmap.core.errors import InputError
from lumenmap.core.files import write_whole
from lumenmap.show.load import load_palettes
from lumenmap.show.shelf import ENDING, Shelf, own_folder, palette_files
from lumenmap.show.suggest import search


def shelf(show: Path | None = None) -> Shelf:
    """Return all palettes; a show's own replace others of the same name, then files of one's own.

    Raises
    ------
    InputError
        The show file can't be read.
    """
    return Shelf({}) if show is None else Shelf(load_palettes(show), show.parent)


def named(show: Path | None = None, word: str = "") -> list[dict[str, Any]]:
    """Return each palette's name, occasion, time of year and colours.

    Parameters
    ----------
    word
        Only those that it leads to: part of a name, an occasion, a country, a colour of a flag.

    Raises
    ------
    InputError
        A file that can't be read.
    """
    found = shelf(show).all()
    occasions = {row.name: row for row in rows()}
    files = palette_files(None if show is None else show.parent)
    out: list[dict[str, Any]] = []
    texts: dict[str, str] = {}
    for name, palette in found.items():
        row = occasions.get(name)
        if row is not None and row.palette is palette:
            occasion, when, text = row.occasion, row.when, row.text
        elif name in files and files[name].parent == own_folder():
            occasion, when, text = "your own", "", name
        else:
            occasion, when, text = "of the show", "", name
        texts[name] = text
        stops = [s.text for s in palette.stops]
        out.append({"name": name, "occasion": occasion, "when": when, "stops": stops})
    kept = set(search(word, texts) if word else texts)
    return [row for row in out if row["name"] in kept]


def as_toml(name: str, colours: list[str]) -> str:
    """Return a palette as TOML for a show file.

    Raises
    ------
    InputError
        The name is empty, too long, or has other characters than letters, digits, - and _.
    """
    return f"[palette.{_checked(name)}]\n{_stops(colours)}"


def write_palette(name: str, colours: list[str], folder: Path | None = None) -> Path:
    """Write a palette file into a folder, the user's own if None; return its path.

    Raises
    ------
    InputError
        A name that isn't one, a file of that name, or a folder that can't be written.
    """
    place = own_folder() if folder is None else folder
    path = place / f"{_checked(name)}{ENDING}"
    if path.exists():
        raise InputError("is there already; choose another name, or delete it first", file=path)
    if folder is None:
        try:
            place.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise InputError(f"can't be made: {error.strerror}", file=place) from None
    write_whole(path, _stops(colours))
    return path


def _checked(name: str) -> str:
    if not re.fullmatch(r"[\w-]{1,80}", name):
        raise InputError(f'"{name[:40]}" isn\'t a palette name; expected letters, digits, - and _')
    return name


def _stops(colours: list[str]) -> str:
    return f"stops = [{', '.join(json.dumps(c) for c in colours)}]\n"
