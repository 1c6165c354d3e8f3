"""`Distance`: how far along a way each place is."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from lumenmap.motion.kept import read_only

F = NDArray[np.float64]
#: A length, or one for each frame (T, 1).
R = TypeVar("R", float, F, float | F)


@dataclass(frozen=True, slots=True, eq=False)
class Distance:
    """A way measured at N places.

    Attributes
    ----------
    metres
        (N,) m from the way's beginning, never negative.
    whole
        (N,) m: the length of the whole way at each place: its edge, its wire, the house…
    circuit
        The way's length in m if it is closed, else None.
    """

    metres: F
    whole: F
    circuit: float | None = None

    def __post_init__(self) -> None:
        """Make it read-only: effects share it."""
        for name in ("metres", "whole"):
            object.__setattr__(self, name, read_only(getattr(self, name)))

    def fit(self, repeat: R) -> R:
        """Return the repeat nearest to ``repeat`` (m) of which a closed way has a whole number."""
        if self.circuit is None:
            return repeat
        fitting: Any = self.circuit / np.maximum(1, np.round(self.circuit / repeat))
        return cast(R, fitting)

    def group(self, spacing: R, colours: int) -> R:
        """Return the distance (m) from one group of light to the next, as near ``spacing`` as fits.

        A closed way has a whole number of groups: as many as each colour needs for its turn, or,
        if there are fewer groups than colours, just as many as were asked for. One is then one,
        whatever the palette holds, and takes the next colour each time it passes the start.
        """
        if self.circuit is None:
            return spacing
        count = self.circuit / spacing
        if isinstance(count, float):  # numpy takes ten times as long over one number
            near = round(count / colours) * colours if count >= colours else round(count)
            return self.circuit / max(1, near)
        rounds = colours * np.round(count / colours)
        fitting: Any = self.circuit / np.maximum(
            1, np.where(count >= colours, rounds, np.round(count))
        )
        return cast(R, fitting)

    def part(self, rows: Any) -> Distance:
        """Return some of the places."""
        return replace(self, metres=self.metres[rows], whole=self.whole[rows])
