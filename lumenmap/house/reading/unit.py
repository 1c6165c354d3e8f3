"""The unit of a house file, read alone, as the rest of the file may have mistakes."""

from __future__ import annotations

from pathlib import Path

from lumenmap.core.errors import LumenmapError
from lumenmap.core.toml.reading import load_toml
from lumenmap.core.units import LENGTH


def unit_here(house: Path | None = None) -> str:
    """Return the unit of a house, or of ``house.toml`` here; feet if there is none that says it."""
    try:
        table = load_toml(house or Path("house.toml"), "house").get("house")
    except LumenmapError:
        return "ft"
    unit = table.get("unit") if isinstance(table, dict) else None
    return unit if isinstance(unit, str) and unit in LENGTH else "ft"
