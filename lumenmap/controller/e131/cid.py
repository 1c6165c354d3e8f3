"""The CID: one UUID per house, machine and voice, made once and kept (E1.31 5.6)."""

from __future__ import annotations

import contextlib
import uuid
from pathlib import Path

from lumenmap.core.errors import InputError
from lumenmap.core.files import write_whole
from lumenmap.core.system import user_state


def house_cid(house: Path | str, voice: str = "", *, folder: Path | None = None) -> uuid.UUID:
    """Return the CID of a house's streams, the same every time on this machine.

    Two that send at once are two sources, each with its own sequence of packets, so each voice
    (a command) has a CID of its own. Kept outside the house's folder, so that a copy on another
    machine is a different source.

    Parameters
    ----------
    house
        The house file, or another path that identifies the house.
    voice
        What sends: a command's name.
    folder
        Where CIDs are kept; the user's folder for state if not given.
    """
    key = uuid.uuid5(uuid.NAMESPACE_URL, f"{Path(house).resolve().as_uri()}#{voice}")
    kept = (folder or user_state() / "cid") / str(key)
    with contextlib.suppress(OSError, ValueError):
        return uuid.UUID(kept.read_text("utf-8").strip())
    made = uuid.uuid4()
    try:
        kept.parent.mkdir(parents=True, exist_ok=True)
        write_whole(kept, f"{made}\n")
    except (OSError, InputError):  # nowhere to keep it: derive one from this machine
        return uuid.uuid5(key, f"{uuid.getnode():012x}")
    return made
