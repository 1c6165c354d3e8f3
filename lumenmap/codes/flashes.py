"""A finding of flashes, and what to do about it."""

from __future__ import annotations

from typing import Any, Literal, NamedTuple

#: The flashes of WCAG 2.2.
Kind = Literal["general", "red"]


#: More than three flashes per second are seven or more transitions.
MAX_TRANSITIONS = 6


ADVICE = (
    "Flashing can trigger seizures. This count follows WCAG 2.2 for general and red flashes, "
    "region by region; it can't tell what is right for any one person. Keep to three flashes a "
    "second or fewer, avoid hard red ones, and give people a way to stop the show."
)


class Flashing(NamedTuple):
    """More than three flashes per second somewhere.

    Attributes
    ----------
    region
        Its name.
    kind
        ``general`` or ``red``.
    pattern
        True if many pixels of the region flash, each by itself; False if the region as a whole.
    start, stop
        s of the show; ``stop`` may be after its end, across the seam of the loop.
    transitions
        The largest number within one second.
    brightest
        What light was measured by: 1 for full light, less for the most that the show gets to.
    """

    region: str
    kind: Kind
    pattern: bool
    start: float
    stop: float
    transitions: int
    brightest: float = 1.0

    def __str__(self) -> str:
        held = (
            f", measured by the {self.brightest:.1%} of full light that this show gets to"
            if self.brightest < 1
            else ""
        )
        what = "many pixels, each by itself, make" if self.pattern else "the light makes"
        return (
            f'"{self.region}": {what} {self.kind} flashes from {self.start:.2f} to '
            f"{self.stop:.2f} s: {self.transitions} transitions in one second, and more than "
            f"{MAX_TRANSITIONS} are more than three flashes{held}"
        )

    def report(self) -> dict[str, Any]:
        """Return the figures for ``report.json``."""
        return {
            "region": self.region,
            "kind": self.kind,
            "pattern": self.pattern,
            "start": self.start,
            "stop": self.stop,
            "transitions": self.transitions,
            "brightest": self.brightest,
            "message": str(self),
        }
