"""One file that is being edited: its text, its history, and what others may have done meanwhile.

Strategy: a change is proposed first, as a new text, and accepted only when the rest of the program
has read it. `lumenmap.desk.files.history` knows what can be taken back.
"""

from __future__ import annotations

import tomllib
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal

from lumenmap.core.errors import InputError
from lumenmap.desk.files import meaning
from lumenmap.desk.files.edits import edited, taken
from lumenmap.desk.files.history import History, Step, Way
from lumenmap.desk.wire.asked import Edit, Remove, SetValue

#: Versions that an edit may have been made on.
MOST_VERSIONS = 200


@dataclass(frozen=True, slots=True)
class Proposal:
    """What a file may become; `Document.accept` makes it so."""

    text: str
    kind: Way | Literal["change"]
    step: Step


class Document:
    """A TOML file in the hands of several people.

    Attributes
    ----------
    text
        As it is now, which the disk may not have yet.
    version
        Rises with every change.
    changed_by
        Who changed it last.
    history
        What was done, and what can be taken back.
    """

    def __init__(self, path: Path, text: str) -> None:
        self.path, self.text, self.original = path, text, text
        self.on_disk = text
        self.unsaved: list[Edit] | None = []
        self.version = 1
        self.changed_by: Literal["", "browser", "editor"] = ""
        self.history = History()
        self._bases: OrderedDict[int, dict[str, Any]] = OrderedDict()
        self._note()

    def _note(self) -> None:
        self.data: dict[str, Any] = tomllib.loads(self.text)
        self.json: dict[str, Any] = meaning.as_json(self.data)
        self._bases[self.version] = self.data
        while len(self._bases) > MOST_VERSIONS:
            self._bases.popitem(last=False)

    @property
    def saved(self) -> bool:
        """Whether the disk has the text."""
        return self.text == self.on_disk

    def change(
        self, edits: Sequence[Edit], version: int, label: str = "", gesture: str = ""
    ) -> Proposal:
        """Propose edits that were made on a version of the file.

        Raises
        ------
        ConflictError
            Somebody else changed the same value meanwhile.
        InputError
            A version that isn't known any more, or edits that can't be made.
        """
        base = self._bases.get(version)
        if base is None:
            raise InputError("the page shows an old state of this file; load the page again")
        now = meaning.rebased(edits, base, self.data)
        kept = [taken(self.text, e) for e in now if isinstance(e, (Remove, SetValue)) and _out(e)]
        text = edited(self.text, now)
        step = Step(label, gesture, self.text, text, tuple(now), tuple(k for k in kept if k))
        return Proposal(text, "change", step)

    def restore(self) -> Proposal:
        """Propose the file as it was when it was opened."""
        step = Step("Back to the start", "", self.text, self.original, ())
        return Proposal(self.original, "change", step)

    def undo(self) -> Proposal:
        """Propose to take the last step back.

        Raises
        ------
        InputError
            There is none, or an editor has changed the same values since: the step is passed
            over, so that those before it can be taken back, until it can be walked again.
        """
        return self._walk("undo")

    def redo(self) -> Proposal:
        """Propose to make the step again that was taken back last.

        Raises
        ------
        InputError
            As `undo`.
        """
        return self._walk("redo")

    def _walk(self, way: Way) -> Proposal:
        step = self.history.next(way)
        if step is None:
            raise InputError(f"there is nothing to {way}")
        return Proposal(self.history.walked(step, way, self.text, self.data), way, step)

    def refused(self, proposal: Proposal) -> None:
        """Take note that the rest of the program can't read the text of a proposal."""
        if proposal.kind != "change":
            self.history.unread(proposal.step)

    def accept(self, proposal: Proposal) -> None:
        """Make a proposal so; nothing was accepted since it was made."""
        step = proposal.step
        if proposal.kind == "change":
            self.history.add(step)
        else:
            self.history.walk(step, proposal.kind)
        made = meaning.inverse(step.edits) if proposal.kind == "undo" else step.edits
        if not made or self.unsaved is None:
            self.unsaved = None  # the text was replaced as a whole
        else:
            self.unsaved += made
        self._become(proposal.text, "browser")

    def merged(self, text: str) -> str:
        """Return what the disk has now, with the changes in it that it doesn't have yet.

        Where they can't be made any more, the editor's text is what counts.
        """
        if self.saved or not self.unsaved or text == self.on_disk:
            return self.text if text == self.on_disk else text
        try:
            base, now = tomllib.loads(self.on_disk), tomllib.loads(text)
            return edited(text, meaning.rebased(self.unsaved, base, now))
        except (InputError, ValueError):
            return text

    def from_disk(self, text: str, merged: str | None = None) -> bool:
        """Take note of what the disk has now; return whether it is news."""
        self.on_disk = text
        merged = text if merged is None else merged
        if merged == text:
            self.unsaved = []
        if merged == self.text:
            return False
        self._become(merged, "editor")
        return True

    def touch(self) -> None:
        """Give the same text another version: what is made of it has changed."""
        self.version += 1
        self._note()
        self.history.try_again(self.text, self.data, unread=True)

    def retitled(self, title: str) -> str:
        """Return the text with another title."""
        old = meaning.get(self.data, ["show", "name"])
        return edited(self.text, [SetValue(path=["show", "name"], old=old, new=title)])

    def _become(self, text: str, by: Literal["browser", "editor"]) -> None:
        self.text, self.changed_by = text, by
        self.version += 1
        self._note()
        self.history.try_again(text, self.data, unread=by == "editor")


def _out(edit: Edit) -> bool:
    return isinstance(edit, Remove) or (isinstance(edit, SetValue) and edit.new is None)
