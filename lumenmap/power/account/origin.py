"""The house that frames were made for: named and known by its digest, not by a path.

Frames travel to other folders and machines, and a file names nothing outside its own folder. So the
house is looked for next to the frames and one folder up, and is asked for where it isn't there.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

from lumenmap.core.errors import InputError, LumenmapError
from lumenmap.core.regular import read_regular
from lumenmap.core.toml.reading import LARGEST, load_toml


def house_of(frames: Path, name: str, sha256: str) -> Path:
    """Return the house file of the frames that ``frames``, a ``frames.json``, describes.

    Parameters
    ----------
    name, sha256
        Of the house. A file with that digest comes first, then one with that name.

    Raises
    ------
    InputError
        There is none next to the frames, or one folder up.
    """
    folder = frames.resolve().parent
    named = None
    for file in [*sorted(folder.glob("*.toml")), *sorted(folder.parent.glob("*.toml"))]:
        try:
            if hashlib.sha256(read_regular(file, LARGEST)).hexdigest() == sha256:
                return file
            top = load_toml(file).get("house")
        except (OSError, LumenmapError):
            continue
        if named is None and isinstance(top, dict) and top.get("name") == name:
            named = file
    if named is None:
        raise InputError(
            f'was made for the house "{name[:80]}", which is neither in this folder nor in the one '
            "above; give its file with `house`",
            file=frames,
        )
    return named
