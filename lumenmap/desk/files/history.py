"""What was done to a file, and taken back: steps, and which of them is walked next.

Strategy: while a file is as a step left it, taking the step back gives the text of before, byte by
byte; if an editor has saved another text since, the step's edits are taken back one by one, and
meet the editor's changes as any edit does. A step that can't be walked then is passed over, so
that it doesn't hide those before it, and counts again in its old place once it can be walked.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Literal

from lumenmap.core.errors import InputError
from lumenmap.desk.files import meaning
from lumenmap.desk.files.edits import edited
from lumenmap.desk.wire.asked import Edit, SetValue

#: Steps that can be taken back; and that are passed over, each tried again after every change.
MOST_STEPS, MOST_PASSED = 500, 20

Way = Literal["undo", "redo"]


@dataclass(frozen=True, slots=True, eq=False)
class Step:
    """A change: its edits (none if the whole text was given), and the texts around it."""

    label: str
    gesture: str
    before: str
    after: str
    edits: tuple[Edit, ...]
    kept: tuple[str, ...] = ()


class History:
    """The steps of one file.

    Attributes
    ----------
    steps, undone
        What was done, and what was taken back, the last one last.
    """

    def __init__(self) -> None:
        self.steps: list[Step] = []
        self.undone: list[Step] = []
        self._passed: list[Step] = []  # those of both that can't be walked now
        self._unread: list[Step] = []  # and of these: the file that they lead to can't be read

    def next(self, way: Way) -> Step | None:
        """Return the step that is walked next; None if there is none."""
        steps = self.steps if way == "undo" else self.undone
        return next((s for s in reversed(steps) if s not in self._passed), None)

    def walked(self, step: Step, way: Way, text: str, data: dict[str, Any]) -> str:
        """Return a text, whose data are given, with a step taken back or made again.

        Raises
        ------
        InputError
            Somebody else has changed the same values since; the step is passed over from now on.
        """
        try:
            return _walked(step, way, text, data)
        except InputError:
            self._pass_over(step)
            raise

    def unread(self, step: Step) -> None:
        """Pass a step over: what comes of it can't be read by the rest of the program."""
        self._pass_over(step)
        self._unread.append(step)

    def walk(self, step: Step, way: Way) -> None:
        """Take note that a step was walked."""
        there, back = (self.steps, self.undone) if way == "undo" else (self.undone, self.steps)
        there.remove(step)
        back.append(step)

    def add(self, step: Step) -> None:
        """Take note of a new step; with the last one, if both are of one gesture."""
        self.undone.clear()
        last = self.steps[-1] if self.steps else None
        if last and step.gesture and (last.gesture, last.after) == (step.gesture, step.before):
            self.steps[-1] = _together(last, step)
        else:
            self.steps.append(step)
        del self.steps[:-MOST_STEPS]

    def try_again(self, text: str, data: dict[str, Any], *, unread: bool) -> None:
        """Count steps again that were passed over and can be walked now.

        Parameters
        ----------
        text, data
            The file as it is now.
        unread
            Whether those may count again, too, after which the file couldn't be read.
        """
        if not self._passed:
            return
        here = [*self.steps, *self.undone]
        self._passed = [
            step
            for step in self._passed
            if step in here
            and ((step in self._unread and not unread) or not self._changes(step, text, data))
        ]
        self._unread = [step for step in self._unread if step in self._passed]

    def _changes(self, step: Step, text: str, data: dict[str, Any]) -> bool:
        """Return whether a step can be walked, and anything comes of it."""
        try:
            return _walked(step, "undo" if step in self.steps else "redo", text, data) != text
        except InputError:
            return False

    def _pass_over(self, step: Step) -> None:
        self._passed.append(step)
        if len(self._passed) > MOST_PASSED:
            first = self._passed.pop(0)
            for steps in (self.steps, self.undone):
                steps[:] = [s for s in steps if s is not first]


def _walked(step: Step, way: Way, text: str, data: dict[str, Any]) -> str:
    base, goal = (step.after, step.before) if way == "undo" else (step.before, step.after)
    if text == base:
        return goal
    if not step.edits:
        raise InputError(
            f'"{step.label}" replaced the whole file, and an editor has saved it since; '
            "undo it in the editor"
        )
    edits: Sequence[Edit] = meaning.inverse(step.edits) if way == "undo" else step.edits
    return edited(text, meaning.rebased(edits, tomllib.loads(base), data), step.kept)


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
