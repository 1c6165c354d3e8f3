"""Paper that printers hold, mm."""

from __future__ import annotations

#: ISO 216, and ANSI/ASME Y14.1 size A.
PAPERS: dict[str, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


def paper_for(unit: str) -> str:
    """Return the paper that goes with a unit of measure: letter with feet, else A4."""
    return "letter" if unit in ("ft", "in") else "a4"
