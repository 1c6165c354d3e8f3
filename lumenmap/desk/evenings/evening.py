"""Tonight and the evenings to come, as browsers are told of them and change them.

Strategy: everything is an edit of the almanac's file. What is done for other evenings than tonight
is told before in a sentence, and is done only while that sentence holds: so nobody changes
unawares what another phone, or an editor, has just changed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime, timedelta

from lumenmap.almanac.choice import (
    Choice,
    another_show,
    as_bright,
    is_of,
    stretches,
    tonight_date,
)
from lumenmap.almanac.dated import Span
from lumenmap.almanac.load import almanac_from
from lumenmap.almanac.model import Almanac
from lumenmap.almanac.several import is_dark, of_evening
from lumenmap.core.errors import InputError
from lumenmap.desk.evenings.book import Book
from lumenmap.desk.evenings.calendar import Calendar
from lumenmap.desk.evenings.consequences import consequences
from lumenmap.desk.evenings.hours import hours_edits, hours_of, hours_words
from lumenmap.desk.evenings.plan import Plan, edits_for, plan
from lumenmap.desk.evenings.running import running
from lumenmap.desk.evenings.tonight import nothing, tonight
from lumenmap.desk.evenings.words import when
from lumenmap.desk.files.document import Document
from lumenmap.desk.files.folder import ChangedError, Folder
from lumenmap.desk.wire import evening_facts
from lumenmap.desk.wire.asked import Brightness, Choose, Dark, Edit, UndoEvening
from lumenmap.desk.wire.days import FARTHEST, AskDays, Days, DaysAnswer, SetDays
from lumenmap.desk.wire.hours import SetHours

#: What undo takes back, in words.
_LABELS = {Choose: "Another show", Brightness: "Brightness"}

Change = Choose | Brightness | Dark | UndoEvening | SetDays | SetHours


class Evening:
    """The almanac's evenings; runs on the session's bench.

    Parameters
    ----------
    folder
        The house's folder.
    now
        Returns the time, UTC.
    titles
        Returns the titles of the show files, by name.
    """

    def __init__(
        self, folder: Folder, now: Callable[[], datetime], titles: Callable[[], Mapping[str, str]]
    ) -> None:
        self.book = Book(folder)
        self._now, self._titles = now, titles
        self._calendar = Calendar()

    def tell(self) -> evening_facts.Tonight:
        """Return tonight as it stands."""
        now, problem = self._now(), self.book.problem
        status = running(self.book.folder.path, now)
        if (known := self.book.known) is None:
            return nothing(self.book.missing, problem, status)
        document, almanac = known
        made = tonight(almanac, now, self._titles(), list(document.data.get("once", ())))
        return made.model_copy(
            update={
                "can_undo": document.history.next("undo") is not None,
                "undoes": self._undoes(document, almanac),
                "problem": problem,
                "running": status,
            }
        )

    def _undoes(self, document: Document, almanac: Almanac) -> str:
        """Return what undo takes back, in words; empty if there is nothing."""
        step, day = document.history.next("undo"), tonight_date(almanac, self._now())
        return step.label.replace(when(Span(day, day), day), "tonight") if step else ""

    def coming(self, first: date | None, count: int) -> Days:
        """Return evenings as they stand, tonight or a later one first."""
        now = self._now()
        if (known := self.book.known) is None:
            why = self.book.missing
            return Days(tonight="", farthest="", days=[], problem=why)
        document, almanac = known
        day = tonight_date(almanac, now)
        last = day + timedelta(days=FARTHEST)
        begin = min(max(first or day, day), last)
        shown = [begin + timedelta(days=n) for n in range(min(count, (last - begin).days + 1))]
        once = list(document.data.get("once", ()))
        return Days(
            tonight=day.isoformat(),
            farthest=last.isoformat(),
            days=self._calendar.days(almanac, shown, once, now, self._titles()),
            problem=self.book.problem,
        )

    def ask(self, message: AskDays) -> DaysAnswer:
        """Return what a wish would do.

        Raises
        ------
        LumenmapError
            Why it can't be done.
        """
        document, almanac = self.book.usable()
        return self._planned(document, almanac, message)[1]

    def _planned(
        self, document: Document, almanac: Almanac, message: AskDays | SetDays
    ) -> tuple[Plan, DaysAnswer]:
        now = self._now()
        if message.wish.what == "show" and message.wish.file is not None:
            self.book.folder.path_of(message.wish.file, "show")
        day = tonight_date(almanac, now)
        made = plan(document.data, almanac, message.wish, day)
        return made, consequences(made, message.id, now, day, self._titles())

    def change(self, message: Change) -> None:
        """Do what somebody asks for, and write the file.

        Raises
        ------
        LumenmapError
            Why it isn't done.
        """
        try:
            self._change(message)
        except ChangedError:  # an editor has saved in these milliseconds
            self._change(message)

    def _change(self, message: Change) -> None:
        document, almanac = self.book.usable()
        if isinstance(message, UndoEvening):
            # A second touch, or another phone's, came before what that one does was read.
            now = self._undoes(document, almanac)
            if now and message.undoes and now != message.undoes:
                raise InputError(
                    f"“{message.undoes}” isn't the last change any more, so nothing was undone. "
                    f"Undo would now take back “{now}”"
                )
            self.book.accept(document, document.undo())
            return
        if isinstance(message, SetDays):
            made, answer = self._planned(document, almanac, message)
            if answer.sentence != message.agreed:
                raise InputError(
                    "these evenings were changed meanwhile, so nothing was done. Now it would be: "
                    f"{answer.sentence}"
                )
            label = made.label[:80]
            self.book.accept(document, document.change(made.edits, document.version, label))
            return
        if isinstance(message, SetHours):
            self._set_hours(message, document, almanac)
            return
        if isinstance(message, Dark) and not message.dark and self._lit_before(document):
            self.book.accept(document, document.undo())  # back to what it was, a party too
            return
        edits = self._edits(message, document, almanac)
        label = _label(message, tonight_date(almanac, self._now()))
        # A slider that moves on is one step; a dark that is taken back is found by its word.
        slides = isinstance(message, Brightness) or (isinstance(message, Dark) and message.dark)
        gesture = message.type if slides else ""
        self.book.accept(document, document.change(edits, document.version, label, gesture))

    def _set_hours(self, message: SetHours, document: Document, almanac: Almanac) -> None:
        now = hours_of(almanac)
        if now != message.seen:
            raise InputError(
                f"these hours were changed meanwhile, so nothing was done. {hours_words(now)}"
            )
        edits = hours_edits(document.data, now, message.hours)
        if edits:
            # A slider that moves on is one step; nothing else is.
            slides = len(edits) == 1 and edits[0].path[-1] == "brightness"
            gesture = f"hours {edits[0].path}" if slides else ""
            label = "Hours of every evening"
            self.book.accept(document, document.change(edits, document.version, label, gesture))

    def _lit_before(self, document: Document) -> bool:
        """Return whether the last step made tonight dark, and something played before it."""
        step = document.history.next("undo")
        if step is None or step.gesture != "dark":
            return False
        try:
            before = self.book.checked(document.undo().text)
        except InputError:  # an editor has changed that since
            return False
        return bool(before.evening(tonight_date(before, self._now()))[0])

    def _edits(
        self, message: Choose | Brightness | Dark, document: Document, almanac: Almanac
    ) -> Sequence[Edit]:
        now = self._now()
        day = tonight_date(almanac, now)
        choices: list[Choice] = []
        if isinstance(message, Choose):
            self.book.folder.path_of(message.file, "show")
            choices = [another_show(almanac, now, message.file, message.until)]
        elif isinstance(message, Brightness):
            choices = as_bright(almanac, now, message.level)
        elif message.dark:
            choices = [Choice(None)]
        else:
            choices = _light_again(document, almanac, day)
        night = Span(day, day)
        return edits_for(document.data, [night], [(night, choices)], cut=False)


def _label(message: Choose | Brightness | Dark, day: date) -> str:
    """Return what undo takes back, with the date: it is read later, and among other evenings."""
    lit = "Dark" if isinstance(message, Dark) and message.dark else "Light again"
    return f"{_LABELS.get(type(message), lit)} {when(Span(day, day), day)}"


def _light_again(document: Document, almanac: Almanac, day: date) -> list[Choice]:
    """Return what lights a dark evening: nothing, or as the rules say if others are dark with it.

    Raises
    ------
    InputError
        The rules say nothing.
    """
    once = [table for table in document.data.get("once", ()) if not is_of(table, day)]
    around = of_evening(once, day)
    if not is_dark(around):
        return []
    rest = [table for table in once if table not in around]
    found = stretches(almanac_from({**document.data, "once": rest}, almanac.file), day)
    if not found:
        raise InputError("nothing else is planned for tonight; choose a show")
    return found
