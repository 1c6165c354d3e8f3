"""Files that change on disk: an editor's save is seen at once."""

from __future__ import annotations

from collections.abc import AsyncIterator, Iterable
from pathlib import Path

from watchfiles import awatch

#: What can change what is shown: the files themselves, effects, pictures for effects, beats.
_ENDINGS = (".toml", ".py", ".png", ".jpg", ".jpeg", ".gif", ".webp", ".beats.txt")
#: Editors write in several steps; a save is over when nothing more comes for so long (ms).
_STEP = 25


async def changes(folder: Path, others: Iterable[Path] = ()) -> AsyncIterator[set[Path]]:
    """Yield the files that have changed, appeared or gone, in a folder and in others like it."""
    folders = [folder, *others]
    async for found in awatch(
        *folders, step=_STEP, debounce=400, recursive=False, watch_filter=None
    ):
        paths = {Path(path) for _, path in found}
        # Hidden files are drafts: ours, before they are moved into place, and those of editors.
        wanted = {
            p for p in paths if p.name.lower().endswith(_ENDINGS) and not p.name.startswith(".")
        }
        if wanted:
            yield wanted
