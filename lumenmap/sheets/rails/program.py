"""The drilling program of a rail, in basic RS-274 / ISO 6983 code, for machines shorter than it.

Strategy: the rail is drilled in settings. In each, its datum end is against a stop to the left of
the machine's zero, further left each time; a hole's coordinate is its distance from the datum less
the stop's. Stops are whole millimetres or sixteenths of an inch, so they can be set exactly, and
errors don't carry over from one setting to the next.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from lumenmap.core.errors import InputError
from lumenmap.core.lengths import show_length
from lumenmap.core.units import INCH
from lumenmap.house.rails import Drill
from lumenmap.sheets.rails.rails import Pattern

#: Decimal places: 1/1000 mm or 1/10,000 in, finer than such machines move.
PLACES = {"mm": 3, "in": 4}
UNIT = {"mm": Fraction(1, 1000), "in": INCH}
#: Stops are whole multiples of this (m).
STEP = {"mm": Fraction(1, 1000), "in": INCH / 16}


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting of the rail: the distance of the stop left of zero, and the holes to drill.

    ``stop`` exact m; ``holes`` (number from 0, exact m from the datum).
    """

    stop: Fraction
    holes: tuple[tuple[int, Fraction], ...]


def settings(pattern: Pattern, drill: Drill) -> list[Setting]:
    """Return the settings in which a machine can drill all holes of a rail.

    Raises
    ------
    InputError
        The machine can't reach from a stop to the next hole.
    """
    step = STEP[drill.units]
    found: list[Setting] = []
    holes = list(enumerate(pattern.holes()))
    while holes:
        first = holes[0][1]
        # The rail is at zero for as long as the machine reaches; then it moves to the next hole.
        stop = Fraction(0) if not found and first <= drill.travel else first // step * step
        mine = tuple(h for h in holes if h[1] - stop <= drill.travel)
        if not mine:
            raise InputError(
                f"is {show_length(drill.travel, drill.units)}, too short to reach the next hole",
                key="drill.travel",
            )
        found.append(Setting(stop, mine))
        holes = holes[len(mine) :]
    return found


def program(kind: str, pattern: Pattern, drill: Drill, house: str) -> str:
    """Return the text of the program, in ASCII; it pauses between settings."""
    return "\n".join(_lines(kind, pattern, drill, house)) + "\n"


def _lines(kind: str, pattern: Pattern, drill: Drill, house: str) -> Iterator[str]:
    unit = drill.units

    def number(value: Fraction) -> str:
        return f"{float(value / UNIT[unit]):.{PLACES[unit]}f}"

    parts = settings(pattern, drill)
    yield "%"
    yield _comment(f"{house}: rail {kind}, holes: {pattern.count}, settings: {len(parts)}")
    name = {"in": "inches", "mm": "millimetres"}[unit]
    yield _comment(f"{name}: X0 at the datum end in setting 1")
    yield _comment("Y0 at the middle of the rail, Z0 at its top")
    yield _comment("run each setting in the air first, wear eye protection, clamp the rail")
    yield "G20" if unit == "in" else "G21"
    yield "G90 G94 G17 G40 G49"
    for i, part in enumerate(parts, 1):
        yield _comment(
            f"setting {i} of {len(parts)}: datum end against a stop at X{number(-part.stop)}"
        )
        yield f"G0 Z{number(drill.retract)}"
        if i > 1:
            yield "M5"
            yield "M0"
        if drill.spindle is not None:
            yield f"M3 S{drill.spindle}"
        for k, (hole, position) in enumerate(part.holes):
            x = number(position - part.stop)
            if k:
                yield f"G81 X{x}"
            else:
                yield (
                    f"G99 G81 X{x} Y{number(Fraction(0))} Z-{number(drill.depth)} "
                    f"R{number(drill.retract)} F{number(drill.feed)}"
                )
            if k == 0 or (hole + 1) % 10 == 0:
                yield _comment(f"hole {hole + 1}")
        yield "G80"
    yield f"G0 Z{number(drill.retract)}"
    yield "M5"
    yield "M30"
    yield "%"


def _comment(text: str) -> str:
    """Return a comment that every controller accepts: ASCII, without brackets or semicolons."""
    plain = text.encode("ascii", "replace").decode()
    return "(" + plain.translate(str.maketrans("()[];%", "      ")) + ")"
