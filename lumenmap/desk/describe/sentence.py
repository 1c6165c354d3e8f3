"""A message as a sentence of its own."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from lumenmap.core.errors import InputError, WriteError
from lumenmap.core.plain import plain
from lumenmap.desk.files.meaning import ConflictError, path_words

#: Words with which a message begins that leaves its subject to the key before it.
_VERBS = frozenset(
    ("is", "isn't", "are", "has", "needs", "stands", "starts", "goes", "can't", "contains")
)


def sentence(text: str) -> str:
    """Return a message with a capital and a full stop; commands and files stay as they are.

    >>> sentence("no such edge")
    'No such edge.'
    >>> sentence("show.toml is missing")
    'show.toml is missing.'
    """
    word = text.split(" ", 1)[0]
    name = word == "lumenmap" or "." in word.strip(".:,;")
    return (text[:1] if name else text[:1].upper()) + text[1:] + ("" if text[-1:] in ".?!" else ".")


def refusal(error: InputError) -> str:
    """Return an error as a sentence next to the control that asked, which says where it is.

    >>> refusal(InputError("stands for `speed`; give one", key='cue "one", layer 1, over'))
    'Over stands for speed; give one.'
    """
    if isinstance(error, WriteError) and error.file is not None:
        return sentence(f"nothing was changed: {Path(error.file).name} {error.message}")
    message = error.message.replace("`", "")
    subject = error.key.rpartition(", ")[2] if message.split(" ", 1)[0] in _VERBS else ""
    return sentence(f"{subject} {message}".strip())


def conflict(error: ConflictError, asked: str) -> str:
    """Return what somebody else did meanwhile, and what to do next.

    Parameters
    ----------
    asked
        ``edit``, ``undo``, ``redo`` or ``undo_evening``.
    """
    if asked == "undo_evening":
        return (
            "Somebody has changed these evenings in the almanac's file since, so undo would lose "
            "that. Nothing was changed; choose what you want for them."
        )
    where = path_words(error.path)
    if error.gone:
        return sentence(f"{error.message}: somebody took it out meanwhile, so nothing was changed")
    there, yours = _in_words(error.theirs), _in_words(error.yours)
    changed = f"Somebody changed {where} meanwhile: it is {there} now"
    if asked == "edit":
        return f"{changed}, and you chose {yours}. Nothing was changed from here; choose which."
    return (
        f"{changed}, so {asked} would lose that. Nothing was changed; give it the value that you "
        "want by hand."
    )


def _in_words(value: Any) -> str:
    """Return a value of a file for people."""
    if value is None:
        return "as usual"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (str, int, float)):
        return plain(str(value), 60)
    if isinstance(value, list) and value and all(isinstance(v, str) for v in value):
        return plain(", ".join(value), 60)
    if isinstance(value, dict) and "to" in value:
        return "a value that changes over time"
    return "something else"
