"""A message as a sentence of its own."""

from __future__ import annotations

from lumenmap.core.errors import InputError

#: Words with which a message begins that leaves its subject to the key before it.
_VERBS = frozenset(
    ("is", "isn't", "are", "has", "needs", "stands", "starts", "goes", "can't", "contains")
)


def sentence(text: str) -> str:
    """Return a message with a capital and a full stop; names of commands stay as they are.

    >>> sentence("no such edge")
    'No such edge.'
    """
    first = text[:1] if text.startswith("lumenmap") else text[:1].upper()
    return first + text[1:] + ("" if text[-1:] in ".?!" else ".")


def refusal(error: InputError) -> str:
    """Return an error as a sentence next to the control that asked, which says where it is.

    >>> refusal(InputError("stands for `speed`; give one", key='cue "one", layer 1, over'))
    'Over stands for speed; give one.'
    """
    message = error.message.replace("`", "")
    subject = error.key.rpartition(", ")[2] if message.split(" ", 1)[0] in _VERBS else ""
    return sentence(f"{subject} {message}".strip())
