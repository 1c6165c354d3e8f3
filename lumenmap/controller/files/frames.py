"""Raw frame files: ``frames.rgb`` holds the bytes alone, ``frames.json`` describes them.

``frames.rgb`` is frames × pixels × channels bytes without a header: pixels in wiring order, line
after line, channels in each line's colour order. A controller seeks to ``frame · pixels ·
channels`` and reads; numpy does ``fromfile(p, "u1").reshape(frames, pixels, channels)``.
"""

from __future__ import annotations

import hashlib
import json
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from lumenmap.codes.order import to_wire
from lumenmap.pixels.pixelmap import PixelMap

FORMAT = "lumenmap-frames"
VERSION = 1


class FrameWriter:
    """Writes codes to a raw frame file block by block, and works out their checksum.

    Parameters
    ----------
    path
        The file to write; the caller renames it when everything is written.
    pixelmap
        The lines' rows and colour orders.
    """

    def __init__(self, path: Path, pixelmap: PixelMap) -> None:
        self._file = path.open("wb")
        self._spans = [(span.slice, span.order) for span in pixelmap.lines]
        self._digest = hashlib.sha256()
        self.frames = 0

    def write(self, codes: NDArray[np.uint8]) -> None:
        """Append (T, N, C) codes in canonical channel order."""
        data = np.ascontiguousarray(to_wire(codes, self._spans)).data
        self._file.write(data)
        self._digest.update(data)
        self.frames += len(codes)

    def close(self) -> None:
        """Flush and close the file."""
        self._file.close()

    @property
    def sha256(self) -> str:
        """Hexadecimal SHA-256 of the bytes so far."""
        return self._digest.hexdigest()


def sidecar(writer: FrameWriter, pixelmap: PixelMap, fps: float, extra: dict[str, Any]) -> str:
    """Return the text of ``frames.json`` for the frames that ``writer`` wrote, then ``extra``."""
    kind = pixelmap.kind
    content = {
        "format": FORMAT,
        "version": VERSION,
        "frames": writer.frames,
        "fps": fps,
        "pixels": len(pixelmap),
        "channels": kind.channels,
        "lines": [
            {
                "name": span.name,
                "first": span.first,
                "count": span.count,
                "universe": span.universe,
                "order": span.order,
            }
            for span in pixelmap.lines
        ],
        "sha256": writer.sha256,
        **extra,
    }
    return json.dumps(content, indent=2) + "\n"
