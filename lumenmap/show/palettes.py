"""Palettes by name: those of a show file, and those that come with the package."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from lumenmap.colour.palette import Palette
from lumenmap.colour.palettes import builtin, rows
from lumenmap.core.errors import InputError


def known(show: Path | None = None) -> dict[str, Palette]:
    """Return all palettes by name; a show's own replace built-in ones of the same name.

    Raises
    ------
    InputError
        The show file can't be read.
    """
    if show is None:
        return builtin()
    from lumenmap.show.load import load_palettes

    return {**builtin(), **load_palettes(show)}


def named(palettes: dict[str, Palette]) -> list[dict[str, Any]]:
    """Return each palette's name, occasion, time of year and colours."""
    occasions = {row.palette.name: row for row in rows()}
    out = []
    for name, palette in palettes.items():
        row = occasions.get(name)
        own = row is None or row.palette is not palette
        out.append(
            {
                "name": name,
                "occasion": "of the show" if own or row is None else row.occasion,
                "when": "" if own or row is None else row.when,
                "stops": [s.text for s in palette.stops],
            }
        )
    return out


def as_toml(name: str, colours: list[str]) -> str:
    """Return a palette as TOML for a show file.

    Raises
    ------
    InputError
        The name is empty, too long, or has other characters than letters, digits, - and _.
    """
    if not re.fullmatch(r"[\w-]{1,80}", name):
        raise InputError(f'"{name[:40]}" isn\'t a palette name; expected letters, digits, - and _')
    stops = ", ".join(json.dumps(c) for c in colours)
    return f"[palette.{name}]\nstops = [{stops}]\n"
