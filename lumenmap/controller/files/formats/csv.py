"""Comma-separated values (RFC 4180), a row per frame."""

from __future__ import annotations

import csv as rows
from pathlib import Path

from lumenmap.controller.files.frameset import FrameSet

SUFFIX = ".csv"


def csv(frames: FrameSet, path: Path, /) -> None:
    """Table for a spreadsheet, a row per frame: its number, its time (s), then the pixels' codes.

    Columns are named ``line pixel channel``, as ``front 1 R``; pixels count from 1 on each line,
    as on the wire, and channels are in the wire's order.
    """
    names = [
        f"{line.name} {i + 1} {channel}"
        for line in frames.lines
        for i in range(line.count)
        for channel in line.order
    ]
    with path.open("w", newline="", encoding="utf-8") as file:
        table = rows.writer(file)
        table.writerow(["frame", "seconds", *names])
        for i, codes in enumerate(frames.flat()):
            table.writerow([i, f"{i / frames.fps:.6f}", *codes.tolist()])
