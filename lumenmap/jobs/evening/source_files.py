"""What changes when any file that a show may use does."""

from __future__ import annotations

import contextlib
import hashlib
import os
from collections.abc import Collection, Iterable, Iterator
from pathlib import Path

from lumenmap.almanac.values import Values
from lumenmap.show.shelf import palette_files

#: Endings of the files that a show or its house may use, and that effects are written in.
_OURS = (".toml", ".rgb", ".json", ".png", ".jpg", ".jpeg", ".gif", ".webp", ".py")
#: Sound, and the text that says where its beats are.
_SOUND = (".wav", ".flac", ".ogg", ".mp3", ".txt")
#: Folders are looked at so deep, and so many files in all: a house's folder isn't a whole disk.
_DEEP, _MOST = 3, 2000


def signature(
    show: Path, also: Iterable[Path] = (), others: Collection[Path] = (), values: Values = ()
) -> str:
    """Return a text that changes when a file next to the show, or below it, does, or a value.

    Parameters
    ----------
    also
        Folders of effects.
    others
        Files that don't count: the almanac, and other shows.
    """
    folder = show if show.is_dir() else show.parent
    digest = hashlib.sha256(f"{show.exists()} {values!r}\n".encode())
    left, skipped = _MOST, {str(file) for file in others} - {str(show)}
    for own in palette_files().values():  # the user's own, which any show may name
        with contextlib.suppress(OSError):
            stat = own.stat()
            digest.update(f"{own} {stat.st_mtime_ns} {stat.st_size}\n".encode())
    for root in (folder, *also):
        for file, stat in _files(str(root), _DEEP):
            if left and file not in skipped:
                left -= 1
                line = f"{file} {stat.st_mtime_ns} {stat.st_size}\n"
                digest.update(line.encode("utf-8", "replace"))
    return digest.hexdigest()[:16]


def _files(folder: str, deep: int) -> Iterator[tuple[str, os.stat_result]]:
    """Yield the files of a folder that may matter, sorted, hidden ones left out.

    By text: they are looked at every second, and a `Path` of each would take half of that time.
    """
    endings = _OURS + _SOUND
    with contextlib.suppress(OSError, ValueError), os.scandir(folder) as found:
        for entry in sorted(found, key=lambda e: e.name):
            if entry.name.startswith((".", "__")):
                continue
            with contextlib.suppress(OSError):
                if entry.is_dir(follow_symlinks=False):
                    if deep:
                        yield from _files(entry.path, deep - 1)
                elif entry.name.lower().endswith(endings):
                    yield entry.path, entry.stat()
