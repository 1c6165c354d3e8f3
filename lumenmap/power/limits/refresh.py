"""Refresh: how many pixels one data wire can carry at a frame rate."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from lumenmap.pixels.pixelmap import PixelMap


@dataclass(frozen=True, slots=True)
class RefreshProblem:
    """A line too long for the frame rate.

    Attributes
    ----------
    line
        Its name.
    pixels
        How many it has.
    fps
        The rate asked for, frames/s.
    most_fps
        The highest rate its data wire can carry.
    """

    line: str
    pixels: int
    fps: float
    most_fps: float

    def __str__(self) -> str:
        return (
            f'line "{self.line}": {self.pixels} pixels on one data wire can be refreshed '
            f"{self.most_fps:.1f} times a second at most, and the show has {self.fps:g} frames a "
            f"second; lower fps to {int(self.most_fps)}, or split the line over two outputs"
        )

    def report(self) -> dict[str, Any]:
        """Return the figures for ``report.json``."""
        return {
            "line": self.line,
            "pixels": self.pixels,
            "fps": self.fps,
            "most_fps": self.most_fps,
            "message": str(self),
        }


def refresh_problems(pixelmap: PixelMap, fps: float) -> list[RefreshProblem]:
    """Return the lines whose data can't pass in one frame's time, bits plus reset."""
    most = [(span, pixelmap.kind.max_fps(span.count)) for span in pixelmap.lines]
    # A rate that is met to the last digit is met: 1e-9 keeps float rounding out of it.
    return [
        RefreshProblem(span.name, span.count, fps, rate)
        for span, rate in most
        if fps > rate * (1 + 1e-9)
    ]
