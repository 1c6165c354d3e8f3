"""One file that is being edited: its text, its history, and what others may have done meanwhile.

Strategy: a change is proposed first, as a new text, and accepted only when the rest of the program
has read it. History is a list of steps. While a file is as a step left it, taking the step back
gives the text of before, byte by byte; if an editor has saved another text since, the step's edits
are taken back one by one, and meet the editor's changes as any edit does.
"""

from __future__ import annotations

import tomllib
from collections import OrderedDict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Literal

from lumenmap.core.errors import InputError
from lumenmap.desk.files import meaning
from lumenmap.desk.files.edits import edited, taken
from lumenmap.desk.wire.asked import Edit, Remove, SetValue

#: Steps that can be taken back, and versions that an edit may have been made on.
MOST_STEPS, MOST_VERSIONS = 500, 200


@dataclass(frozen=True, slots=True)
class Step:
    """A change: its edits (none if the whole text was given), and the texts around it."""

    label: str
    gesture: str
    before: str
    after: str
    edits: tuple[Edit, ...]
    kept: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Proposal:
    """What a file may become; `Document.accept` makes it so."""

    text: str
    kind: Literal["change", "undo", "redo"]
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
    """

    def __init__(self, path: Path, text: str) -> None:
        self.path, self.text, self.original = path, text, text
        self.on_disk = text
        self.unsaved: list[Edit] | None = []
        self.version = 1
        self.changed_by: Literal["", "browser", "editor"] = ""
        self.steps: list[Step] = []
        self.undone: list[Step] = []
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
            There is none, or an editor has changed the same values since: the step is let go, so
            that those before it can be taken back.
        """
        if not self.steps:
            raise InputError("there is nothing to undo")
        step = self.steps[-1]
        text = step.before
        if self.text != step.after:
            with _let_go(self.steps):
                text = self._walked(step, meaning.inverse(step.edits), step.after)
        return Proposal(text, "undo", step)

    def redo(self) -> Proposal:
        """Propose to make the step again that was taken back last.

        Raises
        ------
        InputError
            As `undo`.
        """
        if not self.undone:
            raise InputError("there is nothing to redo")
        step = self.undone[-1]
        text = step.after
        if self.text != step.before:
            with _let_go(self.undone):
                text = self._walked(step, step.edits, step.before)
        return Proposal(text, "redo", step)

    def _walked(self, step: Step, edits: Sequence[Edit], base: str) -> str:
        """Return the text with a step's edits, which were made on another text."""
        if not edits:
            raise InputError(
                f'"{step.label}" replaced the whole file, and an editor has saved it since; '
                "undo it in the editor"
            )
        found = meaning.rebased(edits, tomllib.loads(base), self.data)
        return edited(self.text, found, step.kept)

    def accept(self, proposal: Proposal) -> None:
        """Make a proposal so; nothing was accepted since it was made."""
        step = proposal.step
        if proposal.kind == "undo":
            self.undone.append(self.steps.pop())
        elif proposal.kind == "redo":
            self.steps.append(self.undone.pop())
        else:
            self.undone.clear()
            last = self.steps[-1] if self.steps else None
            if last and step.gesture and (last.gesture, last.after) == (step.gesture, step.before):
                self.steps[-1] = _together(last, step)
            else:
                self.steps.append(step)
            del self.steps[:-MOST_STEPS]
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

    def retitled(self, title: str) -> str:
        """Return the text with another title."""
        old = meaning.get(self.data, ["show", "name"])
        return edited(self.text, [SetValue(path=["show", "name"], old=old, new=title)])

    def _become(self, text: str, by: Literal["browser", "editor"]) -> None:
        self.text, self.changed_by = text, by
        self.version += 1
        self._note()


@contextmanager
def _let_go(steps: list[Step]) -> Iterator[None]:
    """Take the last of some steps off if it can't be walked; it would hide those before it."""
    try:
        yield
    except InputError:
        steps.pop()
        raise


def _out(edit: Edit) -> bool:
    return isinstance(edit, Remove) or (isinstance(edit, SetValue) and edit.new is None)


def _together(first: Step, second: Step) -> Step:
    """Return two steps of one gesture as one; a value that changed twice changed once."""
    edits = list(first.edits)
    plain = all(isinstance(e, SetValue) for e in (*edits, *second.edits))
    for edit in second.edits:
        place = next((i for i, e in enumerate(edits) if plain and e.path == edit.path), None)
        if place is None:
            edits.append(edit)
        else:
            edits[place] = edits[place].model_copy(update={"new": getattr(edit, "new", None)})
    kept = (*first.kept, *second.kept)
    return replace(first, after=second.after, edits=tuple(edits), kept=kept)
