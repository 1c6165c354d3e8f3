"""A reference page: sections of rows, for the terminal and for HTML alike."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Section:
    """A table of a page, a row a key.

    Attributes
    ----------
    title
        As the file writes it: ``[rail]``.
    lead
        Sentences above the rows.
    columns
        Heading of each column; none are shown if empty.
    rows
        As many cells in each as there are columns.
    code
        Which columns are names or values as one types them, not sentences.
    """

    title: str
    lead: str = ""
    columns: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    code: tuple[int, ...] = (0,)


@dataclass(frozen=True, slots=True)
class Page:
    """All about one topic: ``lead`` is in paragraphs."""

    topic: str
    title: str
    lead: tuple[str, ...]
    sections: tuple[Section, ...]


#: Columns of a section whose rows are keys.
KEYS = ("key", "value", "meaning")


def meaning(text: str, default: str, *, required: bool = False) -> str:
    """Return what a key means, a whole sentence, and what it is if it is left out.

    >>> meaning("Width of the saw's cut", "0")
    "Width of the saw's cut. Default: 0."
    """
    sentence = text if not text or text.endswith((".", "…", "?")) else f"{text}."
    end = "Required." if required else f"Default: {default}." if default else ""
    return f"{sentence} {end}".strip()
