"""Pictures to be scanned by a phone, which then knows the address."""

from __future__ import annotations

import segno


def qr_rows(text: str) -> list[str]:
    """Return a QR code (ISO/IEC 18004) as rows of 0 and 1, its quiet zone included."""
    code = segno.make(text, error="m", micro=False)
    return ["".join("1" if dark else "0" for dark in row) for row in code.matrix_iter(border=4)]


def qr_text(rows: list[str]) -> str:
    """Return a QR code for a terminal: two rows to a line, light on dark or dark on light."""
    blocks = {"00": "█", "01": "▀", "10": "▄", "11": " "}
    pairs = zip(rows[::2], [*rows[1::2], "0" * len(rows[0])], strict=False)
    return "\n".join("".join(blocks[a + b] for a, b in zip(*p, strict=True)) for p in pairs)
