"""`diagnose`: a film against the map: faults in the order of what to mend first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lumenmap.camera.faults.fault import Fault
from lumenmap.camera.faults.light import colour_faults, dark_faults, fitting
from lumenmap.camera.faults.sight import better_place, can_see
from lumenmap.camera.faults.standing import Standing, in_holes, stand
from lumenmap.camera.faults.wiring import wiring_faults
from lumenmap.camera.film.read import Filmed
from lumenmap.core.lengths import show_length
from lumenmap.core.units import LENGTH
from lumenmap.site import Site


@dataclass(frozen=True, slots=True, eq=False)
class Diagnosis:
    """What a film says of a house: the camera, the faults, and how much of the house was seen.

    ``unseen`` are the pixels of the house that the film doesn't show.
    """

    standing: Standing
    faults: tuple[Fault, ...]
    seen: int
    visible: int
    unseen: tuple[int, ...]

    def words(self, site: Site) -> list[str]:
        """Return the findings in sentences."""
        unit, shot = site.house.unit, self.standing.found.shot
        x, y, z = map(float, shot.position)
        side = "right" if x >= 0 else "left"
        lines = [
            f"{self.seen} pixels were told apart, of {self.visible} that "
            f"this camera could see and {len(site.pixels)} in all.",
            f"The camera stood {show_length(abs(y), unit)} in front of the house's origin, "
            f"{show_length(abs(x), unit)} to its {side}, {show_length(z, unit)} high.",
        ]
        if not self.faults:
            lines.append("Every pixel that was seen is where the map has it.")
        for number, fault in enumerate(self.faults, 1):
            lines.append(f"{number}. {fault.words}")
            lines += [f"   {line}" for line in fault.change]
        return [*lines, *self._unchecked(site)]

    def _unchecked(self, site: Site) -> list[str]:
        """Return which stretches of each line weren't seen, so that a fault there wouldn't show."""
        found = []
        for span in site.pixels.lines:
            own = range(span.first, span.first + span.count)
            numbers = [n - span.first + 1 for n in self.unseen if n in own]
            parts = [f"{a}" if a == b else f"{a} to {b}" for a, b in _stretches(numbers)]
            if parts:
                found.append(f'  line "{span.name}": {", ".join(parts)}')
        if not found:
            return []
        return ["Not seen, so not checked:", *found, self._where_to_film(site)]

    def _where_to_film(self, site: Site) -> str:
        place = better_place(site, self.standing.found.shot, self.unseen)
        if not place.right:
            if 2 * place.seen < len(self.unseen):
                return "To check these, film the house's other sides too."
            return (
                "To check these, film again from a few steps to one side: most should have been in "
                "sight, so something stands in front of them."
            )
        side = "right" if place.right > 0 else "left"
        return (
            f"To check these, film again from about {_steps(place.right, site.house.unit)} further "
            f"to the {side}: {place.seen} of {len(self.unseen)} should be in sight from there."
        )


def _steps(metres: float, unit: str) -> str:
    """Return a distance to walk, in whole feet or metres."""
    in_feet = unit in ("ft", "in")
    return f"{round(abs(metres) / float(LENGTH['ft']))} ft" if in_feet else f"{abs(metres):.0f} m"


def _stretches(numbers: list[int]) -> list[tuple[int, int]]:
    """Return the first and last of each stretch of numbers in a row."""
    out: list[tuple[int, int]] = []
    for n in numbers:
        if out and n == out[-1][1] + 1:
            out[-1] = out[-1][0], n
        else:
            out.append((n, n))
    return out


def diagnose(site: Site, film: Filmed) -> Diagnosis:
    """Compare a film with the map.

    Raises
    ------
    InputError
        Too little was seen to find the camera.
    """
    standing = stand(site, film.spots, film.size)
    wiring = wiring_faults(site, standing)
    exchanged = {name for fault in wiring if fault.kind == "swapped" for name in fault.lines}
    faults = [
        *wiring,
        *(f for f in dark_faults(site, film, standing) if not exchanged & set(f.lines)),
        *colour_faults(site, film, standing),
    ]
    holes = in_holes(standing.pieces, len(site.pixels))
    visible = can_see(site, standing)
    # A neighbour's lights may blink a number now and then: such a pixel wasn't seen.
    seen = np.array(sorted(fitting(film, standing, holes)), np.intp)
    unseen = np.setdiff1d(np.flatnonzero(site.pixels.lit), seen)
    known = {n for fault in faults if fault.kind in ("dark", "stops") for n in fault.pixels}
    return Diagnosis(
        standing,
        tuple(faults),
        len(seen),
        int(visible[holes[holes >= 0]].sum()),
        tuple(int(n) for n in unseen if n not in known),
    )
