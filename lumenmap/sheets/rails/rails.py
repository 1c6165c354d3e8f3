"""Rails to cut: each length of pipe, where its holes are, and where it hangs."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from lumenmap.house.paths import hidden_parts
from lumenmap.house.rails import Rail
from lumenmap.pixels.edge_layout import Piece
from lumenmap.pixels.holes import rounded
from lumenmap.pixels.line_layout import LineLayout

#: A shorter rail can't be held by two clips (m): common practice, no source.
SHORTEST = Fraction(3, 10)
#: Nothing is cut off a rail nearer to a hole than this (m): common practice, no source.
LEAST = Fraction(1, 100)
#: Letters of kinds of rail. B, D, F and T mark wires, so that rail F2 could be taken for feed F2; I
#: and O look like 1 and 0.
LETTERS = "ACEGHJKLMNPQRSUVWXYZ"


@dataclass(frozen=True, slots=True)
class Pattern:
    """How a rail is cut and drilled, exact m.

    The datum is the end nearer to the start of the edge: at the front, the left end as seen from
    the street. Hole k is ``first + k * spacing`` from it.
    """

    length: Fraction
    first: Fraction
    spacing: Fraction
    count: int

    @property
    def alike(self) -> tuple[Fraction, Fraction, int]:
        """What rails with the same holes have in common."""
        return self.first, self.spacing, self.count

    def holes(self) -> list[Fraction]:
        """Return the distance of every hole from the datum."""
        return [self.first + k * self.spacing for k in range(self.count)]


@dataclass(frozen=True, slots=True)
class PlacedRail:
    """A rail on the house.

    Attributes
    ----------
    number
        Of the rail, from 1, in the order the lines reach them.
    kind
        The letter of its pattern: rails of the same letter are identical.
    edge, start
        Where it hangs: its datum end is ``start`` m along the edge (exact).
    line, first, last
        The line of its pixel at the datum, and the numbers of the pixels at the datum and at the
        far end.
    """

    number: int
    kind: str
    pattern: Pattern
    edge: str
    start: Fraction
    line: str
    first: int
    last: int


def letter(index: int) -> str:
    """Return the name of a pattern: A, C, E and so on to Z, then AA, AC…, by `LETTERS`."""
    name = ""
    index += 1
    while index:
        index, rest = divmod(index - 1, len(LETTERS))
        name = LETTERS[rest] + name
    return name


def split(
    piece: Piece, rail: Rail, first: int, last: int, end_at: Fraction | None = None
) -> Iterator[tuple[Fraction, Pattern, int]]:
    """Yield the rails for holes ``first`` to ``last`` of a piece; the last ends before ``end_at``.

    For each: where it starts (m from the piece's start), its pattern, and the number of its first
    hole in the piece. A rail before a joint is a whole number of spacings long, less the gap, which
    comes off its far end: so every rail has its first hole at the same distance from its datum, and
    the spacing continues across the joint.
    """
    holes = piece.holes
    whole = math.floor(rail.length / holes.spacing)
    least = min(whole - 1, math.ceil(SHORTEST / holes.spacing))
    end = last + 1
    # At the end of the piece the rail may extend; elsewhere it ends where the next would start.
    tail = holes.tail if end == holes.count else min(holes.lead, holes.spacing - holes.lead)
    if end_at is not None:
        tail = min(tail, max(LEAST, end_at - holes[last]))
    here, hole = holes[first] - holes.lead, first
    while hole < end:
        left = end - hole
        final = holes.lead + (left - 1) * holes.spacing + tail <= rail.length
        # A rail too short for two clips takes over some holes of the one before it.
        count = left if final else min(whole, max(left - least, 1))
        stop = holes[last] + tail if final else here + count * holes.spacing
        length = stop - here - (Fraction(0) if final else rail.gap)
        yield here, Pattern(length, holes.lead, holes.spacing, count), hole
        hole, here = hole + count, stop


def rails(line_layouts: list[LineLayout]) -> list[PlacedRail]:
    """Return the rails for every stretch with pixels, in the order the lines reach the edges."""
    numbers = _numbers(line_layouts)
    rail = line_layouts[0].house.rail
    found: list[PlacedRail] = []
    for name, edge_layout in line_layouts[0].edge_layouts.items():
        before = 0
        hidden = hidden_parts(edge_layout.edge, line_layouts[0].house.masses)
        for piece in edge_layout.pieces:
            own = range(before, before + piece.holes.count)
            for low, high in _stretches([k - before for k in own if (name, k) in numbers]):
                end_at = _met(piece, high, hidden)
                for start, pattern, hole in split(piece, edge_layout.rail, low, high, end_at):
                    line, first = numbers[(name, before + hole)]
                    _, last = numbers[(name, before + hole + pattern.count - 1)]
                    place = piece.start + start
                    number = len(found) + 1
                    found.append(PlacedRail(number, "", pattern, name, place, line, first, last))
            before += piece.holes.count
    return _lettered(found, max(rail.kerf, rail.gap))


def _met(piece: Piece, last: int, hidden: list[tuple[float, float, str]]) -> Fraction | None:
    """Return where the edge goes into another mass just behind hole ``last``.

    m from the piece's start; None if it doesn't.
    """
    end = piece.start + piece.holes[last]
    behind = [start for start, _, _ in hidden if end - LEAST < start < end + piece.holes.spacing]
    return rounded(min(behind)) - piece.start if behind else None


def _lettered(placed: list[PlacedRail], slack: Fraction) -> list[PlacedRail]:
    """Return the rails with letters, those with the same holes cut alike if that is harmless.

    A rail is cut shorter by at most ``slack`` m, at its far end, where the other rails of its kind
    have the same holes and no more behind the last: the saw takes as much, or a joint.
    """
    shortest: dict[Pattern, Pattern] = {}
    cut: Pattern | None = None
    for p in sorted({r.pattern for r in placed}, key=lambda p: (p.alike, p.length)):
        if cut is None or p.alike != cut.alike or p.length - cut.length > slack:
            cut = p
        shortest[p] = cut
    letters: dict[Pattern, str] = {}
    found = []
    for r in placed:
        p = shortest[r.pattern]
        found.append(replace(r, kind=letters.setdefault(p, letter(len(letters))), pattern=p))
    return found


def _stretches(lit: list[int]) -> list[tuple[int, int]]:
    """Return the first and last of each run of consecutive numbers."""
    runs: list[tuple[int, int]] = []
    for k in lit:
        if runs and k == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], k)
        else:
            runs.append((k, k))
    return runs


def _numbers(line_layouts: list[LineLayout]) -> dict[tuple[str, int], tuple[str, int]]:
    """Return the line and pixel number of each hole, by edge and number of the hole on it."""
    found: dict[tuple[str, int], tuple[str, int]] = {}
    for layout in line_layouts:
        for run in layout.runs:
            along = layout.edge_layouts[run.item.edge].along
            low = min(run.enter, run.leave) - 1e-9
            begin = int((along < low).sum())
            for k in range(run.count):
                hole = begin + (run.count - 1 - k if run.item.reversed else k)
                found[(run.item.edge, hole)] = (layout.line.name, run.first + k + 1)
    return found
