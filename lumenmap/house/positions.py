"""Positions along a line, as a house file writes them: an end, a connector, a pixel, a length."""

from __future__ import annotations

import re
from typing import NamedTuple

from lumenmap.core.errors import InputError, near
from lumenmap.core.units import length
from lumenmap.house.choices import PositionKind, Unit

_NUMBERED = re.compile(r"(connector|pixel|after pixel)\s+(\d{1,6})")
#: Places that have a name.
ENDS: dict[str, PositionKind] = {"start": "start", "middle": "middle", "end": "end"}
#: How a place on a line may be written.
PLACES = 'start, middle, end, "connector 2", "pixel 80" or a length along the line'
CUTS = '"after pixel 80", "connector 2", or a length along the line'


class Position(NamedTuple):
    """A place on a line as written: its kind; the number of its connector or pixel; or m along."""

    kind: PositionKind
    number: int = 0
    metres: float = 0.0


def position(text: str, unit: Unit, key: str = "", *, cut: bool = False) -> Position:
    """Read a place on a line; whether the line has it is for the pixels to say.

    Parameters
    ----------
    cut
        Whether it is a cut, which ``after pixel N`` is for.

    Raises
    ------
    InputError
        None of the ways to write a place; names the nearest.

    >>> position("pixel 80", "ft")
    Position(kind='pixel', number=80, metres=0.0)
    """
    plain = " ".join(text.split())
    if plain in ENDS:
        return Position(ENDS[plain])
    if m := _NUMBERED.fullmatch(plain):
        number, kind = int(m.group(2)), m.group(1)
        if kind == "connector":
            return Position("connector", number)
        if kind == "after pixel" and cut:
            return Position("after pixel", number)
        if kind == "pixel" and not cut:
            return Position("pixel", number)
    try:
        return Position("length", 0, float(length(plain, unit, what="position")))
    except InputError:
        hint = _hint(plain, cut)
        expected = CUTS if cut else PLACES
        raise InputError(f'is "{text[:60]}"{hint or ";"} expected {expected}', key=key) from None


def _hint(text: str, cut: bool) -> str:
    """Return the nearest way to write a place, with the number that is there."""
    digits = re.search(r"\d{1,6}", text)
    number = digits.group() if digits else "2"
    words = (
        ["connector", "after pixel"] if cut else ["connector", "pixel", "start", "middle", "end"]
    )
    if re.fullmatch(r"(after\s+)?pixel(\s+\d+)?", text):
        words = ["after pixel"] if cut else ["pixel"]
        return f'; did you mean "{words[0]} {number}"?'
    found = re.search(r'"(.*)"', near(re.sub(r"[\d\s]+$", "", text), words))
    if not found:
        return ""
    word = found.group(1)
    return f'; did you mean "{word}"?' if word in ENDS else f'; did you mean "{word} {number}"?'
