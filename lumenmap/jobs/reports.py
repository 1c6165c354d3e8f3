"""What `check`, `export` and `make` return, key by key: the content of report.json."""

from __future__ import annotations

from typing import Any, TypedDict

from lumenmap.frames.seam import SeamReport
from lumenmap.power.report.tally import DrawReport


class EnergyReport(TypedDict):
    """Energy from the wall: W, Wh, kWh, and money where the house names a price."""

    mean_watts: float
    loop_wh: float
    evening_kwh: float
    season_kwh: float
    season_cost: float | None


class CheckReport(DrawReport):
    """A show, and what it drew: A, s, frames/s.

    ``flashing`` and ``refresh`` hold a table for each finding; the lists of text hold sentences:
    ``accepted`` dangers of the wiring, and what the house file accepts without there being any.
    """

    show: str
    house: str
    frames: int
    fps: float
    seconds: float
    pixels: int
    pixel_kind: str
    notes: list[str]
    accepted: list[str]
    unused: list[str]
    seam: SeamReport
    flashing: list[dict[str, Any]]
    refresh: list[dict[str, Any]]
    problems: list[str]


class ExportReport(CheckReport):
    """A check, and the export's checksum and energy."""

    sha256: str
    energy: EnergyReport


class MakeReport(ExportReport):
    """An export, and how much of the show its preview.gif shows (s)."""

    preview_seconds: float
