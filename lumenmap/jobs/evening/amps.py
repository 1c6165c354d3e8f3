"""Current of what plays: what was recounted from the bytes when they were made."""

from __future__ import annotations

import contextlib
import json
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.almanac.model import Piece
from lumenmap.controller.files.frameset import FrameSet
from lumenmap.jobs.evening.maker import AMPS, SUPPLIES
from lumenmap.jobs.evening.nightly import due_frame


class Amps:
    """Reads the current of frames once, from their folder."""

    def __init__(self) -> None:
        self._of: FrameSet | None = None
        self._table: NDArray[np.float32] = np.zeros((0, 0), np.float32)
        self._names: list[str] = []
        self._idle: list[float] = []

    def rows(
        self, piece: Piece, frames: FrameSet, folder: Path | None, moment: datetime
    ) -> list[dict[str, Any]]:
        """Return each supply's current now and at most, A; nothing if it isn't known.

        Where frames are dimmed as they are sent, both are to within the rounding of codes.
        """
        if frames is not self._of:
            self._read(frames, folder)
        if not len(self._table):
            return []
        row = self._table[due_frame(piece, moment, frames) % len(self._table)]
        most = self._table.max(axis=0)
        dim = min(1.0, piece.brightness / frames.brightness)

        def dimmed(amps: Any, k: int) -> float:
            return round(self._idle[k] + (float(amps) - self._idle[k]) * dim, 3)

        return [
            {"name": name, "now": dimmed(row[k], k), "most": dimmed(most[k], k)}
            for k, name in enumerate(self._names)
        ]

    def _read(self, frames: FrameSet, folder: Path | None) -> None:
        self._of, self._table = frames, np.zeros((0, 0), np.float32)
        # A side file, whatever is wrong with it, never stops the evening.
        with contextlib.suppress(Exception):
            if folder is None:
                return
            supplies: Any = json.loads((folder / SUPPLIES).read_text("utf-8"))
            table = np.load(folder / AMPS, allow_pickle=False)
            names = [str(s["name"]) for s in supplies]
            if names and table.shape == (len(frames.codes), len(names)):
                self._names, self._idle = names, [float(s["idle"]) for s in supplies]
                self._table = table
