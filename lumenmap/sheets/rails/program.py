"""The drilling program of a rail, in plain RS-274 / ISO 6983 words, for a machine shorter than it.

Strategy: the rail is drilled in settings. In each, its datum end stands against a stop to the left
of the machine's zero, further left each time; within a setting every hole is at its true place less
the stop's. Stops are whole millimetres or sixteenths of an inch, so they can be set exactly, and no
setting's error carries over into the next.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from lumenmap.core.errors import InputError
from lumenmap.core.units import INCH, show_length
from lumenmap.house.model import Drill
from lumenmap.sheets.rails.rails import Pattern

#: Words carry this many places: 1/1000 mm or 1/10,000 in, finer than any such machine moves.
PLACES = {"mm": 3, "in": 4}
UNIT = {"mm": Fraction(1, 1000), "in": INCH}
#: Stops are whole multiples of this (m).
STEP = {"mm": Fraction(1, 1000), "in": INCH / 16}


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting of the rail: how far left of zero its datum end stands, and its holes.

    ``stop`` exact m; ``holes`` (number from 0, exact m from the datum).
    """

    stop: Fraction
    holes: tuple[tuple[int, Fraction], ...]


def settings(pattern: Pattern, drill: Drill) -> list[Setting]:
    """Divide a rail's holes over settings of the machine.

    Raises
    ------
    InputError
        The machine can't reach from one stop's step to the next hole.
    """
    step = STEP[drill.units]
    found: list[Setting] = []
    holes = list(enumerate(pattern.holes()))
    while holes:
        first = holes[0][1]
        # The rail stays at zero as long as the machine reaches; then it moves up to the next hole.
        stop = Fraction(0) if not found and first <= drill.travel else first // step * step
        mine = tuple(h for h in holes if h[1] - stop <= drill.travel)
        if not mine:
            raise InputError(
                f"is {show_length(drill.travel, drill.units)}, too short to reach a hole",
                key="drill.travel",
            )
        found.append(Setting(stop, mine))
        holes = holes[len(mine) :]
    return found


def program(kind: str, pattern: Pattern, drill: Drill, house: str) -> str:
    """Return the program's text, plain ASCII, one setting after the other with a stop between."""
    return "\n".join(_lines(kind, pattern, drill, house)) + "\n"


def _lines(kind: str, pattern: Pattern, drill: Drill, house: str) -> Iterator[str]:
    unit = drill.units

    def say(value: Fraction) -> str:
        return f"{float(value / UNIT[unit]):.{PLACES[unit]}f}"

    parts = settings(pattern, drill)
    yield "%"
    yield _comment(f"{house}: rail {kind}, {pattern.count} holes, {len(parts)} settings")
    name = {"in": "inches", "mm": "millimetres"}[unit]
    yield _comment(f"{name}: X0 where the datum end stands in setting 1")
    yield _comment("Y0 on the rail's middle, Z0 on its top")
    yield _comment("try each setting in the air first, wear eye protection, clamp the rail")
    yield "G20" if unit == "in" else "G21"
    yield "G90 G94 G17 G40 G49"
    for number, part in enumerate(parts, 1):
        yield _comment(
            f"setting {number} of {len(parts)}: datum end on a stop at X{say(-part.stop)}"
        )
        yield f"G0 Z{say(drill.retract)}"
        if number > 1:
            yield "M5"
            yield "M0"
        if drill.spindle is not None:
            yield f"M3 S{drill.spindle}"
        for i, (hole, place) in enumerate(part.holes):
            x = say(place - part.stop)
            if i:
                yield f"G81 X{x}"
            else:
                yield (
                    f"G99 G81 X{x} Y{say(Fraction(0))} Z-{say(drill.depth)} "
                    f"R{say(drill.retract)} F{say(drill.feed)}"
                )
            if i == 0 or (hole + 1) % 10 == 0:
                yield _comment(f"hole {hole + 1}")
        yield "G80"
    yield f"G0 Z{say(drill.retract)}"
    yield "M5"
    yield "M30"
    yield "%"


def _comment(text: str) -> str:
    """Write a comment that any reader takes: plain letters, no brackets or semicolons inside."""
    plain = text.encode("ascii", "replace").decode()
    return "(" + plain.translate(str.maketrans("()[];%", "      ")) + ")"
