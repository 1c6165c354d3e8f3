"""`ending_of`: which kind of picture or film a file's ending asks for."""

from __future__ import annotations

from pathlib import Path
from typing import Literal, get_args

from lumenmap.core.errors import InputError, near

Ending = Literal[".gif", ".webp", ".apng", ".mp4", ".webm", ".png", ".jpg", ".jpeg"]
ENDINGS: tuple[Ending, ...] = get_args(Ending)
#: Files that play in a loop wherever they are shown, and so are kept short.
LOOPING = (".gif", ".webp", ".apng")
#: What to write instead of other well-known kinds of pictures and films.
_INSTEAD = {
    **dict.fromkeys((".bmp", ".tif", ".tiff"), ".png"),
    **dict.fromkeys((".mov", ".avi", ".mkv", ".m4v", ".mpg", ".mpeg", ".wmv"), ".mp4"),
    ".htm": ".html",
}


def ending_of(path: Path) -> Ending:
    """Return a path's ending if it is one that can be written.

    Raises
    ------
    InputError
        Any other ending; names the nearest.
    """
    found = path.suffix.lower()
    for ending in ENDINGS:
        if found == ending:
            return ending
    known = (*ENDINGS, ".html")
    if not found:
        raise InputError(f"its name has no ending; expected one of {', '.join(known)}", file=path)
    instead = _INSTEAD.get(found)
    hint = f'; did you mean "{instead}"?' if instead else near(found, known)
    raise InputError(
        f'no picture format "{path.suffix}"{f"{hint} Formats" if hint else "; formats"}: '
        f"{', '.join(known)}",
        file=path,
    )
