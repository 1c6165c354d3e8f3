"""Whole-file writing: a file is whole or absent, a set of files is all new or all old.

Strategy: everything is first written next to its final place under a hidden name, flushed to disk,
and renamed. A set (`OutputSet`) is staged in a hidden folder; a marker says that all of it is
there; only then are the files moved in. A run killed before the marker leaves the old set; one
killed after it is finished by the next reader or writer.
"""

from __future__ import annotations

import contextlib
import os
import secrets
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from types import TracebackType

from lumenmap.core.errors import InputError

_STAGE = ".lumenmap-"
_READY = "ready"


def _refuse(path: Path, error: OSError) -> InputError:
    return InputError(f"can't be written: {error.strerror or error}", file=path)


def _flush(path: Path) -> None:
    fd = os.open(path, os.O_RDONLY)
    try:
        os.fsync(fd)
    except OSError:  # some file systems have no fsync for folders; the rename is still atomic
        pass
    finally:
        os.close(fd)


@contextlib.contextmanager
def whole_file(path: Path | str) -> Iterator[Path]:
    """Give a hidden path next to ``path`` to write to; move it into place if nothing fails.

    Raises
    ------
    InputError
        The folder is missing or can't be written.
    """
    path = Path(path)
    # Opened with 0666, so that the system applies the umask: asking for it would set it for a
    # moment, for all threads. mkstemp's 0600 would surprise whoever serves or copies the file.
    draft = path.with_name(f".{path.name[:80]}-{secrets.token_hex(8)}")
    try:
        os.close(os.open(draft, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o666))
    except OSError as error:
        raise _refuse(path, error) from error
    try:
        yield draft
        _flush(draft)
        if path.is_dir():
            raise InputError("is a folder; expected the path of a file", file=path)
        draft.replace(path)
        _flush(path.parent)
    except InputError as error:
        if error.file is None or Path(error.file) != draft:
            raise
        # People know the file by its own name.
        raise type(error)(error.message, file=path, key=error.key) from error
    except OSError as error:
        raise _refuse(path, error) from error
    finally:
        draft.unlink(missing_ok=True)


def write_whole(path: Path | str, data: bytes | str) -> None:
    """Write ``data`` (text as UTF-8) to ``path``, whole or not at all."""
    with whole_file(path) as draft:
        draft.write_bytes(data.encode() if isinstance(data, str) else data)


class OutputSet:
    """A set of files in one folder that is replaced all at once.

    Use as a context manager; ``path(name)`` gives the place to write each file to. Nothing of the
    folder's previous content changes before the ``with`` block ends without an error.

    Parameters
    ----------
    folder
        Made if missing; files in it that are not in the set are left alone.
    """

    def __init__(self, folder: Path | str) -> None:
        self.folder = Path(folder)

    def __enter__(self) -> OutputSet:
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            finish_interrupted(self.folder)
            self._stage = Path(tempfile.mkdtemp(prefix=f"{_STAGE}{os.getpid()}-", dir=self.folder))
        except OSError as error:
            raise _refuse(self.folder, error) from error
        return self

    def path(self, name: str) -> Path:
        """Return where to write the file that will be ``folder/name``."""
        return self._stage / name

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        try:
            if kind is None:
                for file in self._stage.iterdir():
                    _flush(file)
                (self._stage / _READY).touch()
                _flush(self._stage)
                _move_in(self._stage)
        except OSError as failure:
            raise _refuse(self.folder, failure) from failure
        finally:
            shutil.rmtree(self._stage, ignore_errors=True)
        if isinstance(error, OSError):
            raise _refuse(self.folder, error) from error


def _move_in(stage: Path) -> None:
    for file in sorted(stage.iterdir()):
        if file.name != _READY:
            file.replace(stage.parent / file.name)
    _flush(stage.parent)
    shutil.rmtree(stage, ignore_errors=True)


def finish_interrupted(folder: Path | str) -> None:
    """Complete a set that was killed while it moved in; clear away one killed before that.

    A stage whose process still runs is left alone.
    """
    for stage in Path(folder).glob(f"{_STAGE}*-*"):
        if not stage.is_dir() or _alive(stage.name[len(_STAGE) :].split("-")[0]):
            continue
        if (stage / _READY).exists():
            _move_in(stage)
        else:
            shutil.rmtree(stage, ignore_errors=True)


def _alive(pid: str) -> bool:
    if not pid.isdecimal() or int(pid) == os.getpid():
        return pid.isdecimal()
    try:
        os.kill(int(pid), 0)
    except ProcessLookupError:
        return False
    except OSError:
        return True
    return True
