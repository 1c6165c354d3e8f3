"""`DataLead`: the data wire from the controller to a line's first pixel, and what a long one needs.

A lead that the house file doesn't give is assumed to be as long as the shortest pair of wires to
the line's first string, since the controller mostly hangs next to the supply, or 10 ft (3 m).
"""

from __future__ import annotations

from dataclasses import dataclass

from lumenmap.core.lengths import show_length, show_written
from lumenmap.core.units import LENGTH
from lumenmap.house.choices import Unit
from lumenmap.house.model import Spares
from lumenmap.sheets.wires.leads import Lead, leads
from lumenmap.site import Site

#: What is assumed without any pair of wires to go by (m), in feet and in metres: our choice.
GUESS_FEET, GUESS_METRES = 10 * float(LENGTH["ft"]), 3.0
#: From so far on (m) a lead should pass a pixel near the controller that repeats the data, and from
#: so far on it should be a balanced pair: common practice, no source. Round in either unit.
REPEAT_FEET, REPEAT_METRES = 15 * float(LENGTH["ft"]), 5.0
BALANCED_FEET, BALANCED_METRES = 50 * float(LENGTH["ft"]), 15.0
#: In series with the data at the controller's end (ohm) [P: WS2811 data sheet].
SERIES_OHMS = 33
#: Gates in one level shifter: 74HCT125 and 74AHCT125 have four [M].
GATES = 4


@dataclass(frozen=True, slots=True)
class DataLead:
    """The lead of a line.

    ``length`` m, ``assumed`` if the file doesn't say; ``output`` of the controller, from 1;
    ``repeats``: a pixel that repeats the data should stand near the controller, and ``repeater``:
    the line has one; ``balanced``: it is too long for a single wire.
    """

    line: str
    output: int
    length: float
    assumed: bool
    repeats: bool
    repeater: bool
    balanced: bool

    @property
    def mark(self) -> str:
        """What it is called on the diagram, in tables and on its labels."""
        return f"D{self.output}"


def data_leads(site: Site) -> list[DataLead]:
    """Return the lead of each line."""
    pairs, unit = leads(site), site.house.unit
    repeat, balanced = limits(unit)
    found = []
    for i, line in enumerate(site.house.lines, 1):
        length = _guess(pairs, line.name, unit) if line.lead is None else line.lead
        far = length > balanced + 1e-9
        found.append(
            DataLead(
                line.name,
                i,
                length,
                line.lead is None,
                not far and length > repeat + 1e-9,
                isinstance(line.path[0], Spares),
                far,
            )
        )
    return found


def limits(unit: Unit) -> tuple[float, float]:
    """Return from where on a lead needs a repeating pixel, and a balanced pair (m)."""
    if unit in ("ft", "in"):
        return REPEAT_FEET, BALANCED_FEET
    return REPEAT_METRES, BALANCED_METRES


def _guess(pairs: list[Lead], line: str, unit: Unit) -> float:
    to_start = [
        p.length
        for p in pairs
        if p.kind == "feed" and p.line == line and p.place.connector == 1 and p.length
    ]
    if to_start:
        return min(to_start)
    return GUESS_FEET if unit in ("ft", "in") else GUESS_METRES


def assumed_leads(site: Site) -> str:
    """Return one sentence on the leads that the file leaves out; empty if it gives all."""
    unit = site.house.unit
    rows = [
        f"{lead.line} {show_written(lead.length, unit)}"
        for lead in data_leads(site)
        if lead.assumed
    ]
    if not rows:
        return ""
    return (
        f"Data leads from the controller to pixel 1 are assumed: {', '.join(rows)}; write lead in "
        "the [[line]]."
    )


def remedies(site: Site) -> list[tuple[str, str, str]]:
    """Return what a data lead needs: from which length on, what, and where the figure is from."""
    unit, kind = site.house.unit, site.house.kind
    repeat, balanced = (show_length(x, unit) for x in limits(unit))
    rows = [
        (
            "any",
            f"{SERIES_OHMS} ohm in series with the data, at the controller's end",
            "WS2811 data sheet",
        ),
        (
            "any, from a 3.3 V controller",
            "level shifter to 5 V, 74HCT or 74AHCT, next to the controller",
            "pixels at 5 V ask for 0.7 x 5 V = 3.5 V (data sheet); the part is common practice, "
            "no source",
        ),
        (
            "any",
            "a minus wire next to the data, twisted with it, from the same supply as the line's "
            "first string",
            "common practice, no source",
        ),
        (
            f"over {repeat}",
            "a pixel near the controller that stays dark and repeats the data: begin the path with "
            "{ spares = 1 }, and give it power there",
            "common practice, no source",
        ),
        (
            f"over {balanced}",
            "a balanced pair: a line driver at the controller and a receiver at pixel 1, both for "
            "RS-485, over twisted pair; or move the controller",
            "common practice, no source",
        ),
    ]
    if kind.wire_bits is not None:
        rows.append(
            ("any", "the same again for the clock wire", "common practice, no source"),
        )
    return rows
