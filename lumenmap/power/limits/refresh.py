"""Refresh rate: data lines too long for the frame rate."""

from __future__ import annotations

from typing import Any, NamedTuple

from lumenmap.pixels.pixelmap import PixelMap


class RefreshProblem(NamedTuple):
    """A line too long for the frame rate.

    Attributes
    ----------
    line
        Its name.
    pixels
        The number of its pixels.
    fps
        The show's rate, frames/s.
    most_fps
        The highest rate at which its data wire can carry them.
    """

    line: str
    pixels: int
    fps: float
    most_fps: float

    def report(self) -> dict[str, Any]:
        """Return the figures for ``report.json``."""
        return {
            "line": self.line,
            "pixels": self.pixels,
            "fps": self.fps,
            "most_fps": self.most_fps,
        }


def refresh_problems(pixelmap: PixelMap, fps: float) -> list[RefreshProblem]:
    """Return the lines whose data takes longer than a frame, bits plus reset."""
    most = [(span, pixelmap.kind.max_fps(span.count)) for span in pixelmap.lines]
    # 1e-9: a rate that is met but for float rounding is met.
    return [
        RefreshProblem(span.name, span.count, fps, rate)
        for span, rate in most
        if fps > rate * (1 + 1e-9)
    ]
