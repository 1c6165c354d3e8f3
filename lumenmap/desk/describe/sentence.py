"""A message as a sentence of its own."""

from __future__ import annotations


def sentence(text: str) -> str:
    """Return a message with a capital and a full stop; names of commands stay as they are.

    >>> sentence("no such edge")
    'No such edge.'
    """
    first = text[:1] if text.startswith("lumenmap") else text[:1].upper()
    return first + text[1:] + ("" if text[-1:] in ".?!" else ".")
