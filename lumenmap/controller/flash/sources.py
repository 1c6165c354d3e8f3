"""The decoder's C sources, as they are laid beside what it decodes."""

from __future__ import annotations

from pathlib import Path


def decoder_files() -> dict[str, bytes]:
    """Return the C99 decoder and the format's description, by file name."""
    return files_of(Path(__file__).resolve().parent.parent / "c")


def files_of(folder: Path) -> dict[str, bytes]:
    """Return the files of a folder and of those below it, by their path in it."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
