"""A kind of option: its help, its range, how it is read and written. The base of all others."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, ClassVar

from lumenmap.core import units
from lumenmap.core.errors import InputError
from lumenmap.core.plain import shown
from lumenmap.motion.at import At
from lumenmap.motion.reading import Reading, Written


@dataclass(frozen=True, slots=True)
class Kind:
    """A number, and the base of the other kinds.

    Parameters
    ----------
    help
        One line: what it does to the light.
    low, high
        The range, in SI.
    unset
        What happens if it is left out, if its default is None.
    steady
        Whether it can't change over time, because what it began must end as it began.
    """

    #: Whether a ramp may give an effect a number of its own for each frame. Not for what is
    #: multiplied by the time, which would jump; see `lumenmap.motion.varying`.
    by_frames: ClassVar[bool] = True
    #: Whether a value is a number that can change gradually.
    gradual: ClassVar[bool] = True

    help: str = ""
    low: float = -math.inf
    high: float = math.inf
    unset: str = ""
    steady: bool = False

    def read(self, value: object, reading: Reading) -> Any:
        """Return what a person wrote, in SI units.

        Raises
        ------
        InputError
            Not of this kind, or out of range; gives the range in people's units.
        """
        if isinstance(value, bool) or not isinstance(value, (str, int, float)):
            raise InputError(f"is {shown(value)}; expected {self.expected(reading.unit)}")
        got = self._parse(value, reading)
        if not self.contains(got):
            raise InputError(f"is {value!s:.60}; expected {self.expected(reading.unit)}")
        return min(max(got, self.low), self.high)

    def contains(self, value: Any) -> bool:
        """Return whether a value in SI is in the range."""
        # The end of a range, converted from people's units, may be off in the last bit.
        slack = 1e-9 * max((abs(v) for v in (self.low, self.high) if math.isfinite(v)), default=0)
        return bool(self.low - slack <= value <= self.high + slack)

    def expected(self, unit: str = "m") -> str:
        """Return what is expected, in people's units: ``0.5 ft/s to 90 ft/s``."""
        if math.isinf(self.low) and math.isinf(self.high):
            return f"a {type(self).__name__.lower()}"
        low, high = self.ends(unit)
        if math.isinf(high):
            return f"{self.text(low, unit)} or more"
        return f"{self.text(low, unit)} to {self.text(high, unit)}"

    def ends(self, unit: str = "m") -> tuple[float, float]:
        """Return the range in SI, its ends round in people's units and not beyond the true ones."""
        return self.low, self.high

    def about(self, value: Any, unit: str = "m") -> Any:
        """Return a value in SI, as near as it is told where nobody wrote it: a default.

        It is round in people's units, and no eye tells it from the true one.
        """
        return value

    def text(self, value: Any, unit: str = "m") -> str:
        """Return a value in people's units, which `read` accepts."""
        return short(value)

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of its values in a file."""
        return {"type": ["number", "string"]}

    def check_on(self, value: Any, at: At) -> None:
        """Check a value against the house that it is used on.

        Raises
        ------
        InputError
            It names a corner that the house doesn't have.
        """

    def _parse(self, value: Written, reading: Reading) -> float:
        return units.plain(value, "", what="")


def short(value: float) -> str:
    """Return a number with four digits that count at most."""
    return f"{value:.4g}" if abs(value) < 10_000 else f"{float(f'{value:.4g}'):.0f}"
