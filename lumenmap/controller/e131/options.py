"""`StreamOptions`: how a show is sent."""

from __future__ import annotations

from dataclasses import dataclass

from lumenmap.core.errors import InputError


@dataclass(frozen=True, slots=True)
class StreamOptions:
    """How a show is sent.

    Attributes
    ----------
    sync
        Universe of the synchronisation packets, 0 for none.
    brightness
        0..1 of the codes.
    steady
        Send every packet of every frame, even if nothing changed.
    fast
        Send more than 44 frames/s if the show has them.

    Raises
    ------
    InputError
        A brightness outside 0..1.
    """

    sync: int = 0
    brightness: float = 1.0
    steady: bool = False
    fast: bool = False

    def __post_init__(self) -> None:
        if not 0 < self.brightness <= 1:
            raise InputError(
                f"is {self.brightness:g}; expected more than 0, at most 1", key="brightness"
            )
