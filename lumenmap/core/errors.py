"""Errors that a person can act on: where, what is there, what is wanted."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from pathlib import Path


class LumenmapError(Exception):
    """Base of every error that is the input's or the show's doing, never the program's.

    ``exit_code`` is what the command line ends with: 1 a check failed, 2 the input is wrong.
    """

    exit_code = 2


class InputError(LumenmapError, ValueError):  # a ValueError, so that pydantic collects it
    """The input is wrong.

    Parameters
    ----------
    message
        What is there and what is wanted, one line.
    file
        The file it stands in, if any.
    key
        Where in the file: ``line "front", path[2]`` or ``cue[0].layer[1].speed``.
    excerpt
        Lines of the file to look at, printed below the message.
    """

    def __init__(
        self, message: str, *, file: Path | str | None = None, key: str = "", excerpt: str = ""
    ) -> None:
        self.message, self.file, self.key = " ".join(message.split()), file, key
        self.excerpt = excerpt
        where = [Path(file).name] if file is not None else []
        where += [key] if key else []
        below = f"\n{excerpt}" if excerpt else ""
        super().__init__(": ".join([*where, self.message]) + below)

    def at(self, *, file: Path | str | None = None, key: str = "") -> InputError:
        """Return the same complaint with the place filled in where it was not known."""
        return type(self)(
            self.message, file=self.file or file, key=self.key or key, excerpt=self.excerpt
        )


class CheckError(LumenmapError):
    """The input is readable, but the show fails a check (budget, digest, refresh)."""

    exit_code = 1


def near(word: str, known: Iterable[str]) -> str:
    """Return ``did you mean "x"?`` for the nearest known word, or the empty string."""
    hits = difflib.get_close_matches(word, list(known), n=1, cutoff=0.6)
    return f'; did you mean "{hits[0]}"?' if hits else ""


def unknown(what: str, word: str, known: Iterable[str], *, plural: str | None = None) -> str:
    """Say that a name is not known, the nearest match, and the names there are.

    >>> unknown("edge", "gable-lft", ["gable-left", "porch"])
    'no edge "gable-lft"; did you mean "gable-left"? Edges: gable-left, porch'
    """
    names = sorted(known)
    shown = ", ".join(names[:12]) + (f" … ({len(names)} in all)" if len(names) > 12 else "")
    heading = plural or f"{what[0].upper()}{what[1:]}s"
    hint = near(word, names)
    listing = f"{heading}: {shown}" if names else f"there are no {heading.lower()}"
    return f'no {what} "{word[:80]}"{hint or ";"} {listing}'
