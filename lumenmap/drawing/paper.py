"""Paper sizes of printers, mm."""

from __future__ import annotations

from enum import StrEnum


class Paper(StrEnum):
    """The paper in the printer."""

    LETTER = "letter"
    A4 = "a4"


#: ISO 216, and ANSI/ASME Y14.1 size A.
PAPERS = {Paper.A4: (210.0, 297.0), Paper.LETTER: (215.9, 279.4)}


def paper_for(unit: str) -> Paper:
    """Return the usual paper for a unit of length: letter for feet and inches, otherwise A4."""
    return Paper.LETTER if unit in ("ft", "in") else Paper.A4
