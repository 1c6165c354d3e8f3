"""Starting a folder with a commented house, show and almanac."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

from lumenmap.core.errors import InputError
from lumenmap.core.folders.output_set import OutputSet

FILES = ("house.toml", "show.toml", "almanac.toml")


def start(folder: Path | str, *, metric: bool = False) -> None:
    """Write ``house.toml``, ``show.toml`` and ``almanac.toml`` into ``folder``, made if missing.

    Raises
    ------
    InputError
        One of them already exists, or the folder can't be written.
    """
    folder = Path(folder)
    for name in FILES:
        if (folder / name).exists():
            raise InputError("already exists; name another folder", file=folder / name)
    source = resources.files("lumenmap.starter") / ("metres" if metric else "feet")
    with OutputSet(folder, starting=True) as files:
        for name in FILES:
            files.path(name).write_bytes((source / name).read_bytes())
