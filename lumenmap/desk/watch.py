"""Files that change on disk: an editor's save is seen at once."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterable
from contextlib import suppress
from itertools import chain
from pathlib import Path

from watchfiles import awatch

#: What can change what is shown: the files themselves, effects, pictures for effects, beats.
_ENDINGS = (".toml", ".py", ".png", ".jpg", ".jpeg", ".gif", ".webp", ".beats.txt")
#: Editors write in several steps; a save is over when nothing more comes for so long (ms).
_STEP = 25


class Watch:
    """Some folders, watched for files that change, appear or go."""

    def __init__(self, folders: Iterable[Path]) -> None:
        self._folders = tuple(folders)
        self._first = self._states()

    async def changes(self) -> AsyncIterator[set[Path]]:
        """Yield the files that change from now on."""
        async for found in awatch(
            *self._folders, step=_STEP, debounce=400, recursive=False, watch_filter=None
        ):
            if wanted := {p for _, path in found if _wanted(p := Path(path))}:
                yield wanted

    def missed(self) -> set[Path]:
        """Return the files that have changed since this was made, before `changes` began too."""
        return {path for path, *_ in self._first ^ self._states()}

    def _states(self) -> set[tuple[Path, int, int, int]]:
        found = set()
        for path in chain.from_iterable(folder.glob("*") for folder in self._folders):
            with suppress(OSError):  # gone meanwhile
                if _wanted(path):
                    stat = path.stat()
                    found.add((path, stat.st_ino, stat.st_mtime_ns, stat.st_size))
        return found


def _wanted(path: Path) -> bool:
    # Hidden files are drafts: ours, before they are moved into place, and those of editors.
    return path.name.lower().endswith(_ENDINGS) and not path.name.startswith(".")
