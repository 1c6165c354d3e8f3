"""One open house: its files as they are in everybody's hands, and what follows from them.

Everything here runs in one thread, the bench, so that files are read, checked and written one after
another and the event loop never waits for them. `lumenmap.desk.hub` brings browsers to it.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence, Set
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from lumenmap.core.errors import InputError, LumenmapError
from lumenmap.desk.files.document import Document, Proposal
from lumenmap.desk.files.folder import ChangedError, Folder
from lumenmap.desk.ground import Ground, as_input
from lumenmap.desk.light.live import Live
from lumenmap.desk.wire import facts
from lumenmap.desk.wire.asked import Edit
from lumenmap.jobs.project import Project


@dataclass(slots=True)
class OpenShow:
    """A show that is open: its file and its project; browsers and `Live` know it by ``number``."""

    number: int
    document: Document
    project: Project
    looked_at: int = 0  # the frame at which an edit is tried first


class Session:
    """The files of one folder, open for editing.

    Parameters
    ----------
    folder
        The folder.
    live
        What renders shows.
    effect_folders
        Folders of effects that the user named; their code is run.
    watched
        The only show that is looked at, and not changed; None on the desk.
    made
        Makes that show, if it isn't a file.
    now
        Returns the time, UTC.
    """

    def __init__(
        self,
        folder: Path,
        live: Live,
        *,
        effect_folders: Iterable[Path] = (),
        watched: str | None = None,
        made: Callable[[], Project] | None = None,
        now: Callable[[], datetime] = lambda: datetime.now(UTC),
    ) -> None:
        self.folder = Folder(folder)
        self.live, self.now = live, now
        self.watched, self._made = watched, made
        self.ground = Ground(self.folder, live.rendering, effect_folders)
        self.problems = self.ground.problems  # those of shows are added here
        self.shows: dict[str, OpenShow] = {}
        self.removed: dict[str, str] = {}  # by a show's file, the one that it is kept in
        self._numbers = itertools.count(1)
        #: What `tell` says of each file of the folder, read once for each save.
        self.rows: dict[str, tuple[object, facts.ShowRow]] = {}

    def again(self) -> None:
        """Lay all open shows on the house again: it, or an effect, has changed."""
        self.rows.clear()
        for name, show in self.shows.items():
            try:
                show.project = self.project(show.document.path, show.document.text)
            except LumenmapError as error:
                self.problems[name] = as_input(error)
            else:
                self.problems.pop(name, None)
                show.document.touch()
                self._put(show)

    def project(self, path: Path, text: str, frame: int = 0) -> Project:
        """Return the project that a show file's text makes; one of its frames is tried.

        Raises
        ------
        LumenmapError
            Anything wrong in it, or with an effect.
        """
        if self._made is not None:
            return self._made()
        return self.ground.project(path, text, frame)

    def open(self, name: str) -> OpenShow:
        """Open a show, or return it if it is open.

        Raises
        ------
        LumenmapError
            No such show, or it can't be read.
        """
        if name not in self.shows:
            file = self._made is None
            path = self.folder.path_of(name, "show") if file else self.folder.path / name
            text = self.folder.read(name) if file else ""
            project = self.project(path, text)
            self.shows[name] = OpenShow(next(self._numbers), Document(path, text), project)
            self._put(self.shows[name])
        return self.shows[name]

    def close_gone(self, looked_at: Set[str]) -> None:
        """Close the shows whose files are gone, but what isn't saved or somebody looks at."""
        for name, show in list(self.shows.items()):
            kept = name in self.folder.files or name in looked_at or not show.document.saved
            if not kept and self._made is None:
                self.forget(name)

    def forget(self, name: str) -> None:
        """Close a show; the next who opens it has it as it is on disk."""
        self.shows.pop(name, None)
        self.problems.pop(name, None)

    def _put(self, show: OpenShow) -> None:
        self.live.put(show.number, show.document.version, show.project)

    def change(
        self, name: str, edits: Sequence[Edit], version: int, label: str, gesture: str
    ) -> OpenShow:
        """Make edits of a show, all or none.

        Raises
        ------
        LumenmapError
            Why they aren't made.
        """
        show = self._editable(name)
        return self._accept(show, show.document.change(edits, version, label, gesture))

    def walk(self, name: str, way: str) -> OpenShow:
        """Undo, redo or restore a show.

        Raises
        ------
        LumenmapError
            Why that isn't done.
        """
        show = self._editable(name)
        proposals = {
            "undo": show.document.undo,
            "redo": show.document.redo,
            "restore": show.document.restore,
        }
        return self._accept(show, proposals[way]())

    def require_desk(self) -> None:
        """Raise InputError where files are only looked at."""
        if self.watched is not None:
            raise InputError("this page only shows saves; lumenmap desk changes files")

    def _editable(self, name: str) -> OpenShow:
        """Return a show that the disk has as we know it, or with what an editor did to it."""
        self.require_desk()
        show = self.open(name)
        self.take_from_disk(name)
        problem = self.problems.get(name)
        if problem is not None and problem.key != "disk":
            raise InputError(
                f"{name} can't be read as it stands on disk, so it isn't changed from here: "
                f"{problem.message}"
            )
        return show

    def _accept(self, show: OpenShow, proposal: Proposal) -> OpenShow:
        try:
            project = self.project(show.document.path, proposal.text, show.looked_at)
        except LumenmapError:
            show.document.refused(proposal)
            raise
        show.project = project
        show.document.accept(proposal)
        self._put(show)
        return show

    def take_from_disk(self, name: str) -> bool:
        """Read an open show from disk, if that has changed; return whether anything is new."""
        show = self.shows[name]
        if self._made is not None:
            return False
        try:
            text = self.folder.read(name)
            if text == show.document.on_disk and name not in self.problems:
                return False
            merged = show.document.merged(text)
            project = self.project(show.document.path, merged, show.looked_at)
        except LumenmapError as error:
            known, self.problems[name] = self.problems.get(name), as_input(error)
            return str(known) != str(error)
        mended = self.problems.pop(name, None) is not None
        if not show.document.from_disk(text, merged):
            return mended
        show.project = project
        self._put(show)
        return True

    def save(self, name: str) -> bool:
        """Write an open show if the disk lacks its newest text; return whether anything is new."""
        if name not in self.shows:  # closed since it was to be saved, with nothing left to save
            return False
        document = self.shows[name].document
        if document.saved:
            return False
        news = self.take_from_disk(name)  # an editor may have saved in these milliseconds
        if document.saved or (name in self.problems and self.problems[name].key != "disk"):
            return news
        try:
            self.folder.write(name, document.text, document.on_disk)
        except ChangedError:
            return self.save(name)
        except InputError as error:
            reason = f"{error.message}; the desk keeps your changes, and tries again"
            self.problems[name] = InputError(reason, file=name, key="disk")
            return True
        document.on_disk, document.unsaved = document.text, []
        self.problems.pop(name, None)
        return True
