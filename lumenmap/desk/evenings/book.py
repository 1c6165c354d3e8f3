"""The almanac's file in the hands of the family: read again before each change, written whole."""

from __future__ import annotations

from datetime import date

from lumenmap.almanac.load import almanac_from
from lumenmap.almanac.model import Almanac
from lumenmap.almanac.rules import Rule
from lumenmap.core.errors import InputError, LumenmapError
from lumenmap.core.toml.reading import parsed
from lumenmap.desk.files.document import Document, Proposal
from lumenmap.desk.files.folder import Folder

#: One-off evenings are looked for in so many years from now on.
_YEARS = 3
_NONE = "There is no almanac in this folder yet; lumenmap new makes one to start from."


class Book:
    """An almanac, and its file with what can be undone in it.

    Attributes
    ----------
    document, almanac
        None if there is none that could ever be read.
    error
        What is wrong with the file as it stands; the last good one stays.
    """

    def __init__(self, folder: Folder) -> None:
        self.folder = folder
        self.document: Document | None = None
        self.almanac: Almanac | None = None
        self.error: LumenmapError | None = None
        self.read()

    def read(self) -> None:
        """Read the almanac again; the last good one stays if it is broken."""
        name = self.folder.almanac
        if name is None:
            # The file may come back, as from an editor that writes it anew: so do the steps.
            self.almanac = self.error = None
            return
        try:
            text = self.folder.read(name)
            almanac = self.checked(text)
        except LumenmapError as error:
            self.error = error
            return
        self.error, self.almanac = None, almanac
        if self.document is None or self.document.path.name != name:
            self.document = Document(self.folder.path_of(name), text)
        else:
            self.document.from_disk(text)

    @property
    def problem(self) -> str:
        """What is wrong with the file as it stands, in one line; empty if nothing is."""
        return str(self.error).splitlines()[0] if self.error is not None else ""

    @property
    def names(self) -> set[str]:
        """The names of the files that it is about: the one that was read, and the one there is."""
        read = self.document.path.name if self.document else None
        return {name for name in (read, self.folder.almanac) if name}

    def checked(self, text: str) -> Almanac:
        """Return what a text of the almanac's file says.

        Raises
        ------
        InputError
            It isn't an almanac.
        """
        path = self.folder.path_of(self.folder.almanac or "almanac.toml")
        return almanac_from(parsed(text, path), path)

    @property
    def known(self) -> tuple[Document, Almanac] | None:
        """The file and what it says, or what it said when it was right; None if never."""
        if self.document is None or self.almanac is None:
            return None
        return self.document, self.almanac

    def rules_with(self, show: str, today: date) -> list[str]:
        """Return the names of the rules that a show may play by, from yesterday's evening on."""
        if self.almanac is None:
            return []
        rules = (rule for rule in self.almanac.rules if rule.show.name == show)
        return [rule.name for rule in rules if not rule.once or _comes(rule, today)]

    @property
    def missing(self) -> str:
        """Why there is no almanac that may be changed; empty if there is one."""
        return self.problem or ("" if self.known else _NONE)

    def usable(self) -> tuple[Document, Almanac]:
        """Return the file and what it says, just as it is on disk.

        Raises
        ------
        InputError
            There is none, or it has mistakes.
        """
        self.read()
        if self.known is None or self.problem:
            raise InputError(self.missing)
        return self.known

    def accept(self, document: Document, proposal: Proposal) -> None:
        """Write what is proposed, if it is an almanac and nobody else has saved meanwhile.

        Raises
        ------
        ChangedError
            Somebody has.
        InputError
            It isn't one, or can't be written.
        """
        try:
            almanac = self.checked(proposal.text)
        except InputError:
            document.refused(proposal)
            raise
        self.folder.write(document.path.name, proposal.text, document.on_disk)
        document.accept(proposal)
        document.on_disk, document.unsaved = document.text, []
        self.almanac = almanac


def _comes(rule: Rule, today: date) -> bool:
    """Return whether a one-off evening may still be, or hasn't ended yet."""
    years = range(today.year - 1, today.year + _YEARS)
    days = frozenset().union(*(days.find(year) for days in rule.on for year in years))
    return any((today - day).days <= 1 for day in days)
