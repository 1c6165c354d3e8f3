"""Errors that a person can act on: where, what is there, what is expected."""

from __future__ import annotations

import contextlib
import difflib
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any, TypeVar

from lumenmap.core.plain import plain

T = TypeVar("T")
R = TypeVar("R")

#: More mistakes than this are counted, not listed.
_LISTED = 20
#: Messages, and names of files and keys, are cut to so many characters.
_LONGEST_MESSAGE, _LONGEST_PLACE = 2000, 120
#: What an `InputError` has besides its message.
_PARTS = ("file", "key", "line", "excerpt", "others")


class LumenmapError(Exception):
    """Base of every error in the input or in a show, as opposed to one in the program.

    ``exit_code`` is the command line's exit status: 1 a check failed, 2 the input is wrong.
    """

    exit_code = 2


class InputError(LumenmapError, ValueError):  # a ValueError, so that pydantic collects it
    """The input is wrong.

    Parameters
    ----------
    message
        What is there and what is expected, one line.
    file
        The file that holds the mistake, if any.
    key
        Where in the file, items counted from 1: ``line "front", path item 3``, or
        ``cue 1, layer 2, speed``.
    line
        The line of the file, from 1, if known.
    excerpt
        Lines of the file to look at, printed below the message.
    others
        Further mistakes in the same file, printed on lines of their own.
    """

    def __init__(
        self,
        message: str,
        *,
        file: Path | str | None = None,
        key: str = "",
        line: int | None = None,
        excerpt: str = "",
        others: Sequence[InputError] = (),
    ) -> None:
        self.message = plain(" ".join(message.split()), _LONGEST_MESSAGE)
        self.file, self.key = file, key
        self.line, self.excerpt, self.others = line, excerpt, tuple(others)
        where = [plain(_name(Path(file)), _LONGEST_PLACE)] if file is not None else []
        where += [plain(key, _LONGEST_PLACE)] if key else []
        at = f" (line {line})" if line is not None else ""
        below = f"\n{excerpt}" if excerpt else ""
        more = [str(error) for error in self.others[: _LISTED - 1]]
        if unlisted := len(self.others) - len(more):
            more.append(f"… and {unlisted} more")
        super().__init__("\n".join([": ".join([*where, self.message]) + at + below, *more]))

    def at(
        self, *, file: Path | str | None = None, key: str = "", line: int | None = None
    ) -> InputError:
        """Return the same error with its place filled in where it was unknown."""
        line = line if self.line is None else self.line
        return self._but(file=self.file or file, key=self.key or key, line=line)

    def within(self, key: str) -> InputError:
        """Return the same error with its key inside another."""
        return self._but(key=f"{key}.{self.key}" if self.key else key)

    @property
    def each(self) -> list[InputError]:
        """The mistakes that this error reports, one error for each."""
        return [self._but(others=()), *self.others]

    def _but(self, **changes: Any) -> InputError:
        own = {name: getattr(self, name) for name in _PARTS}
        return type(self)(self.message, **own | changes)


def _name(file: Path) -> str:
    """Return the name of a file; of a folder written as a dot, the folder's own."""
    return file.name or file.absolute().name or str(file)


class WriteError(InputError):
    """A file or folder can't be written: a full disk, one that is only read, no right to."""


def together(errors: Sequence[InputError]) -> InputError:
    """Return one error that reports all of ``errors``, of which there is at least one.

    What would be said twice in the same words, as of two feeds alike, is said once.
    """
    each = [one for error in errors for one in error.each]
    first, *rest = {(one.file, one.key, one.line, one.message): one for one in each}.values()
    return first._but(others=rest)


class Mistakes:
    """Gathers the mistakes of one file, so that they can be reported together."""

    def __init__(self) -> None:
        self.found: list[InputError] = []

    @contextlib.contextmanager
    def gathered(self, file: Path, key: str = "") -> Iterator[None]:
        """Take note of an error that is raised inside, at ``key``, and go on after the block."""
        try:
            yield
        except InputError as error:
            self.found += [one.at(file=file, key=key) for one in error.each]

    def raise_all(self) -> None:
        """Raise what was gathered, if anything was."""
        if self.found:
            raise together(self.found)


def each(read: Callable[[T], R], items: Iterable[T]) -> tuple[R, ...]:
    """Return what ``read`` makes of every item.

    Raises
    ------
    InputError
        The mistakes of all items together.
    """
    made: list[R] = []
    found: list[InputError] = []
    for item in items:
        try:
            made.append(read(item))
        except InputError as error:
            found.append(error)
    if found:
        raise together(found)
    return tuple(made)


class CheckError(LumenmapError):
    """The input is readable, but the show fails a check (budget, digest, refresh rate)."""

    exit_code = 1


#: Names that a message lists at the most: all edges of a house of several masses.
MOST_NAMES = 30


def near(word: str, known: Iterable[str]) -> str:
    """Return ``; did you mean "x"?`` for the `nearest` known word, or the empty string."""
    found = nearest(word, known)
    return f'; did you mean "{found}"?' if found else ""


def nearest(word: str, known: Iterable[str]) -> str:
    """Return the nearest known word, or the empty string if none is near.

    A name of the same parts in another order is nearest: ``front-eave`` is ``eave-front``. The last
    guess is one with a part more or less: ``eave_height`` is ``eave``.
    """
    names = list(known)
    hits = [name for name in names if name.lower() == word.lower()]
    hits += [name for name in names if len(_parts(word)) > 1 and _parts(word) == _parts(name)]
    if not hits:
        hits = difflib.get_close_matches(word, names, n=3, cutoff=0.6)
        hits = [hit for hit in hits if min(len(word), len(hit)) > 4 or _near_short(word, hit)]
        hits += [name for name in names if _part_of(word, name)]
    return hits[0] if hits else ""


def _parts(name: str) -> list[str]:
    """Return the words of a name, sorted."""
    return sorted(re.split(r"[-/_ ]+", name.lower()))


def _part_of(a: str, b: str) -> bool:
    """Return whether one of two names has all parts of the other, which aren't single letters."""
    short, long = sorted((set(_parts(a)), set(_parts(b))), key=len)
    return short < long and max(map(len, short)) > 2


def _near_short(a: str, b: str) -> bool:
    """Return whether short words are near: half their letters agree by chance.

    They may differ in one edit, or one may be the beginning of the other.
    """
    short, long = sorted((a, b), key=len)
    return one_edit(a, b) or (len(short) > 2 and long.startswith(short))


def one_edit(a: str, b: str) -> bool:
    """Return whether one letter was changed, added, left out, or two swapped."""
    while a and b and a[0] == b[0]:
        a, b = a[1:], b[1:]
    while a and b and a[-1] == b[-1]:
        a, b = a[:-1], b[:-1]
    return max(len(a), len(b)) <= 1 or (len(a) == 2 and a == b[::-1])


def unknown(what: str, word: str, known: Iterable[str], *, plural: str | None = None) -> str:
    """Return a message about an unknown name: the nearest match, and the names there are.

    >>> unknown("edge", "gable-lft", ["gable-left", "porch"])
    'no edge "gable-lft"; did you mean "gable-left"? Edges: gable-left, porch'
    >>> unknown("edge", "tower", ["gable-left", "porch"])
    'no edge "tower"; edges: gable-left, porch'
    """
    # Those of the same mass first: edges are main/ridge, porch/ridge.
    names = sorted(known, key=lambda name: (name.split("/")[0] != word.split("/")[0], name))
    listed = ", ".join(names[:MOST_NAMES])
    shown = listed + (f" … ({len(names)} in all)" if len(names) > MOST_NAMES else "")
    heading = plural or f"{what[0].upper()}{what[1:]}s"
    hint = near(word, names)
    if not hint:  # the sentence goes on
        heading = heading[0].lower() + heading[1:]
    listing = f"{heading}: {shown}" if names else f"there are no {heading}"
    return f'no {what} "{word[:80]}"{hint or ";"} {listing}'
