"""The evening in the hands of the family: the almanac's file, changed for tonight only."""

from __future__ import annotations

from collections.abc import Sequence

from lumenmap.almanac.choice import Choice, another_show, as_bright, tonight_date
from lumenmap.almanac.load import almanac_from
from lumenmap.almanac.model import Almanac
from lumenmap.core.errors import InputError, LumenmapError
from lumenmap.core.toml.reading import parsed
from lumenmap.desk import evening
from lumenmap.desk.files.document import Document, Proposal
from lumenmap.desk.files.folder import ChangedError
from lumenmap.desk.session import Session
from lumenmap.desk.tell import titles
from lumenmap.desk.wire import evening_facts
from lumenmap.desk.wire.asked import Brightness, Choose, Dark, Edit, UndoEvening

#: What undo takes back, in words.
_LABELS = {"choose": "Another show", "brightness": "Brightness", "dark": "Dark"}
_NONE = "There is no almanac in this folder yet; lumenmap new makes one to start from."


class Evening:
    """Tonight, as the almanac has it; runs on the session's bench."""

    def __init__(self, session: Session) -> None:
        self._session = session
        self._document: Document | None = None
        self._almanac: Almanac | None = None
        self._problem = ""
        self.read()

    def read(self) -> None:
        """Read the almanac again; the last good one stays if it is broken."""
        name = self._session.folder.almanac
        if name is None:
            self._document, self._almanac, self._problem = None, None, ""
            return
        try:
            text = self._session.folder.read(name)
            almanac = self._checked(name, text)
        except LumenmapError as error:
            self._problem = str(error).splitlines()[0]
            return
        self._problem, self._almanac = "", almanac
        if self._document is None or self._document.path.name != name:
            self._document = Document(self._session.folder.path_of(name), text)
        else:
            self._document.from_disk(text)

    def _checked(self, name: str, text: str) -> Almanac:
        path = self._session.folder.path_of(name)
        return almanac_from(parsed(text, path), path)

    def tell(self) -> evening_facts.Tonight:
        """Return tonight as it stands."""
        now = self._session.now()
        running = evening.running(self._session.folder.path, now)
        document, almanac = self._document, self._almanac
        if document is None or almanac is None:
            said = self._problem or _NONE
            return evening_facts.Tonight(
                file="",
                date="",
                sentence=said,
                pieces=[],
                dark=False,
                brightness=1.0,
                changed=False,
                can_undo=False,
                undoes="",
                problem=self._problem,
                running=running,
            )
        made = evening.tonight(
            almanac, now, titles(self._session), list(document.data.get("once", ()))
        )
        return made.model_copy(
            update={
                "can_undo": bool(document.steps),
                "undoes": document.steps[-1].label if document.steps else "",
                "problem": self._problem,
                "running": running,
            }
        )

    def change(self, message: Choose | Brightness | Dark | UndoEvening) -> None:
        """Do what somebody asks for tonight, and write the file.

        Raises
        ------
        LumenmapError
            Why it isn't done.
        """
        try:
            self._change(message)
        except ChangedError:  # an editor has saved in these milliseconds
            self._change(message)

    def _change(self, message: Choose | Brightness | Dark | UndoEvening) -> None:
        self.read()
        document, almanac = self._document, self._almanac
        if document is None or almanac is None or self._problem:
            raise InputError(self._problem or _NONE)
        if isinstance(message, UndoEvening):
            self._accept(document, document.undo())
            return
        last = document.steps[-1] if document.steps else None
        if isinstance(message, Dark) and not message.dark and last and last.gesture == "dark":
            self._accept(document, document.undo())  # back to what it was, a party too
            return
        edits = self._edits(message, document, almanac)
        label = _LABELS[message.type]
        # A slider that moves on is one step; a dark that is taken back is found by its word.
        gesture = message.type if isinstance(message, (Brightness, Dark)) else ""
        self._accept(document, document.change(edits, document.version, label, gesture))

    def _edits(
        self, message: Choose | Brightness | Dark, document: Document, almanac: Almanac
    ) -> Sequence[Edit]:
        now = self._session.now()
        choices: list[Choice] = []
        if isinstance(message, Choose):
            self._session.folder.path_of(message.file, "show")
            choices = [another_show(almanac, now, message.file, message.until)]
        elif isinstance(message, Brightness):
            choices = as_bright(almanac, now, message.level)
        elif message.dark:
            choices = [Choice(None)]
        return evening.replaced(document.data, tonight_date(almanac, now), choices)

    def _accept(self, document: Document, proposal: Proposal) -> None:
        almanac = self._checked(document.path.name, proposal.text)
        self._session.folder.write(document.path.name, proposal.text, document.on_disk)
        document.accept(proposal)
        document.on_disk, document.unsaved = document.text, []
        self._almanac = almanac
