"""The unit of a show's numbers that are written without one: its own, or else its house's."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from lumenmap.core.errors import InputError
from lumenmap.core.files import inside
from lumenmap.core.toml.reading import load_toml

UNITS = ("m", "cm", "mm", "ft", "in")


def unit_of(raw: dict[str, Any], path: Path, played_on: str | None = None) -> str:
    """Return the unit that a show file's numbers are in.

    A show keeps the unit of the house it was written for when it plays on another.

    Parameters
    ----------
    raw
        The show file, unchecked.
    path
        Where it lies.
    played_on
        The unit of the house it plays on, for a show that names no house of its own.
    """
    show = raw.get("show")
    top = show if isinstance(show, dict) else {}
    if (own := top.get("unit")) is not None:
        return str(own) if own in UNITS else "m"  # the file's model refuses it
    return _house_unit(top.get("house"), path) or played_on or "m"


def _house_unit(name: object, path: Path) -> str | None:
    """Return the unit of a house in the show's folder; what is wrong with it is told elsewhere."""
    if not isinstance(name, str) or not name:
        return None
    file = inside(path.parent, name)
    try:
        if file is None:
            return None
        house = load_toml(file, "house").get("house")
    except (InputError, OSError, ValueError):
        return None
    unit = house.get("unit") if isinstance(house, dict) else None
    return unit if unit in UNITS else None
