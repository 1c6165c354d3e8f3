"""`LimitOptions`: how a show is kept within its budgets, as a show file's ``[limit]`` says it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from lumenmap.core.errors import InputError, unknown

LimitMode = Literal["steady", "glide", "frame"]


LimitScope = Literal["house", "branch"]


#: What each mode and scope does.
MODES: dict[LimitMode, str] = {
    "steady": "one gain for the whole show, as low as its brightest moment needs",
    "glide": "a gain that falls and rises slowly, ahead of the bright moments",
    "frame": "each frame by itself, as bright as it can be",
}


SCOPES: dict[LimitScope, str] = {
    "house": "all pixels dim alike",
    "branch": "each branch dims by itself",
}


@dataclass(frozen=True, slots=True)
class LimitOptions:
    """How to keep a show within its budgets.

    Attributes
    ----------
    mode, per
        As `MODES` and `SCOPES` describe them.
    slew
        How fast a gliding gain may change: halvings or doublings a second.
    dither
        In dim light, neighbouring codes by turns, so that their mean is the light between them.
    between_packets
        Leave room in supplies and branches for the moments between two packets; the job that
        limits a show sees to it, with `torn`.
    """

    mode: LimitMode = "glide"
    per: LimitScope = "house"
    slew: float = 0.5
    dither: bool = True
    between_packets: bool = False

    def __post_init__(self) -> None:
        if self.mode not in MODES:
            raise InputError(unknown("limiter mode", self.mode, MODES, plural="Modes"), key="mode")
        if self.per not in SCOPES:
            raise InputError(unknown("scope", self.per, SCOPES), key="per")
        if not 0.01 <= self.slew <= 100:
            raise InputError(
                f"is {self.slew:g}; expected 0.01 to 100 halvings a second", key="slew"
            )
