"""Rails to cut: each length of pipe, where its holes are from its own end, and where it goes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from lumenmap.pixels.lay import Laid, Piece
from lumenmap.pixels.walk import Walk

#: A shorter rail can't be held by two clips (m): common practice, no source.
SHORTEST = Fraction(3, 10)


@dataclass(frozen=True, slots=True)
class Pattern:
    """How a rail is cut and drilled, exact m.

    The datum is the end that comes first along the edge: the left end of a rail at the front, as
    seen from the street. Hole k is at ``first + k * spacing`` from it.
    """

    length: Fraction
    first: Fraction
    spacing: Fraction
    count: int

    def holes(self) -> list[Fraction]:
        """Return every hole's place from the datum."""
        return [self.first + k * self.spacing for k in range(self.count)]


@dataclass(frozen=True, slots=True)
class Placed:
    """A rail on the house.

    Attributes
    ----------
    number
        Of the rail, from 1, in the order the lines come to them.
    kind
        The letter of its pattern: rails of one letter are alike.
    edge, start
        Where it hangs: its datum end is ``start`` m along the edge (exact).
    line, first, last
        The numbers on the line of its pixels at the datum and at the far end; None where no line
        lights it.
    """

    number: int
    kind: str
    pattern: Pattern
    edge: str
    start: Fraction
    line: str
    first: int | None
    last: int | None


def letter(index: int) -> str:
    """Name a pattern: A to Z, then AA, AB and so on."""
    name = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, 26)
        name = chr(65 + rest) + name
    return name


def split(piece: Piece, laid: Laid) -> Iterator[tuple[Fraction, Pattern, int]]:
    """Cut a piece of an edge into rails.

    Yields where each starts (m from the piece's start), its pattern, and the number of its first
    hole in the piece. A rail before a joint holds a whole number of spacings, less its share of
    the gap, so that the spacing runs on across the joint.
    """
    holes, rail = piece.holes, laid.rail
    if not holes.count:
        return
    whole = math.floor(rail.length / holes.spacing)
    least = min(whole - 1, math.ceil(SHORTEST / holes.spacing))
    done, here = 0, holes.start
    while done < holes.count:
        left = holes.count - done
        last = holes.lead + (left - 1) * holes.spacing + holes.tail <= rail.length
        # A rail too short for two clips takes some holes from the one before it.
        count = left if last else min(whole, max(left - least, 1))
        before = rail.gap / 2 if done else Fraction(0)
        after = Fraction(0) if last else rail.gap / 2
        stop = holes.stop if last else here + count * holes.spacing
        start = here + before
        yield (
            start,
            Pattern(stop - after - start, holes[done] - start, holes.spacing, count),
            done,
        )
        done, here = done + count, stop


def rails(walks: list[Walk]) -> list[Placed]:
    """Return every rail of the house, in the order the lines come to them."""
    numbers = _numbers(walks)
    kinds: dict[Pattern, str] = {}
    found: list[Placed] = []
    for name, laid in walks[0].laid.items():
        hole = 0
        for piece in laid.pieces:
            for start, pattern, done in split(piece, laid):
                kind = kinds.setdefault(pattern, letter(len(kinds)))
                at = hole + done
                line, first = numbers.get((name, at), ("", None))
                other, last = numbers.get((name, at + pattern.count - 1), ("", None))
                found.append(
                    Placed(len(found) + 1, kind, pattern, name, piece.start + start,
                           line or other, first, last)
                )  # fmt: skip
            hole += piece.holes.count
    return found


def _numbers(walks: list[Walk]) -> dict[tuple[str, int], tuple[str, int]]:
    """Return the line and number on it of each hole, by edge and the hole's number on the edge."""
    found: dict[tuple[str, int], tuple[str, int]] = {}
    for walk in walks:
        for leg in walk.legs:
            along = walk.laid[leg.run.edge].along()
            low = min(leg.enter, leg.leave) - 1e-9
            begin = int((along < low).sum())
            for k in range(leg.count):
                hole = begin + (leg.count - 1 - k if leg.run.reversed else k)
                found[(leg.run.edge, hole)] = (walk.line.name, leg.first + k + 1)
    return found
