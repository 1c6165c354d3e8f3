"""What the lines' ways through the holes say of the wiring.

Edges reversed or in another order, lines exchanged, pixels too many or too few.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from lumenmap.camera.evidence.evidence import Evidence
from lumenmap.camera.faults.change import path_text
from lumenmap.camera.faults.fault import Fault
from lumenmap.camera.faults.holes import SHIFT, Piece
from lumenmap.camera.faults.order import FEWEST, Stretch, other_order
from lumenmap.camera.faults.steps import Step
from lumenmap.camera.faults.wired import Wired
from lumenmap.pixels.line_layout import RunLayout
from lumenmap.pixels.pixelmap import LineSpan
from lumenmap.site import Site

#: Pixels that show an edge in its own holes, but turned round.
TURNED = 2
#: More pixels in a row than this that aren't seen are told.
UNSEEN = 4


class _Steps(NamedTuple):
    """The steps that so many films show."""

    made: tuple[Step, ...]
    films: int


def wiring_faults(site: Site, films: Sequence[Evidence], wired: Wired) -> list[Fault]:
    """Return what the lines' ways through the holes say of the wiring, line by line."""
    spans = site.pixels.lines
    ways = [_stretches(site, wired.pieces[span.name]) for span in spans]
    at = [_main_line(way) for way in ways]
    found: list[Fault] = []
    done: set[int] = set()
    for i, way in enumerate(ways):
        j = at[i]
        if j is None or i in done:
            continue
        if j != i:
            done |= {i, j}
            found.append(_exchanged(site, spans[i], spans[j], back=at[j] == i))
            continue
        found += _on_own_line(site, i, way, _Steps(wired.steps, len(films)))
    return found


def _runs(site: Site, line: int) -> list[RunLayout]:
    return [run for run in site.line_layouts[line].runs if run.count]


def _stretches(site: Site, pieces: list[Piece]) -> list[Stretch]:
    """Split a line's pieces by the runs in whose holes they sit; leave out what is chance."""
    out: list[Stretch] = []
    spans = site.pixels.lines
    for piece in pieces:
        few = TURNED if piece.step < 0 and piece.holes == (piece.first, piece.last) else FEWEST
        if len(piece.shown) < few:
            continue
        low, high = piece.holes
        parts = []
        for line, span in enumerate(spans):
            for number, run in enumerate(_runs(site, line)):
                a = max(low, span.first + run.first)
                b = min(high, span.first + run.first + run.count - 1)
                if a <= b:
                    first, last = sorted(piece.step * (hole - piece.shift) for hole in (a, b))
                    seen = sum(first <= n <= last for n in piece.shown)
                    made = Stretch(line, number, first, last, piece.step, piece.shift, seen)
                    parts.append(made)
        out += sorted(parts, key=lambda s: s.first)
    return out


def _main_line(way: list[Stretch]) -> int | None:
    """Return the line in whose holes most of a line's pixels sit."""
    seen: dict[int, int] = {}
    for s in way:
        seen[s.line] = seen.get(s.line, 0) + s.seen
    return max(seen, key=lambda k: seen[k]) if seen else None


def _exchanged(site: Site, one: LineSpan, two: LineSpan, *, back: bool) -> Fault:
    names = (one.name, two.name)
    pixels = tuple(range(one.first, one.first + one.count))
    if back:
        pixels += tuple(range(two.first, two.first + two.count))
        words = (
            f'Lines "{one.name}" and "{two.name}" are exchanged: the data of each lights the other.'
        )
        change: tuple[str, ...] = (
            "exchange the two data wires at the controller, or in the house file",
            f'give line "{one.name}" universe = {two.universe}',
            f'and line "{two.name}" universe = {one.universe}',
        )
    else:
        words = f'The data of line "{one.name}" lights the pixels of line "{two.name}".'
        change = ("check which output of the controller each data wire is on",)
    return Fault("swapped", names, _edges(site, names), pixels, words, change)


def _edges(site: Site, lines: tuple[str, ...]) -> tuple[str, ...]:
    layouts = [x for x in site.line_layouts if x.line.name in lines]
    return tuple(dict.fromkeys(run.item.edge for x in layouts for run in x.runs))


def _on_own_line(site: Site, line: int, way: list[Stretch], steps: _Steps) -> list[Fault]:
    span, runs = site.pixels.lines[line], _runs(site, line)
    own = [s for s in way if s.line == line and s.seen >= 2]
    if not own:
        return []
    order = list(dict.fromkeys(s.run for s in own))
    backward = {s.run for s in own if s.step < 0}
    names = [runs[k].item.edge for k in order]
    # The shift of a whole line turned round says so even if little of it is seen.
    whole = 2 * span.first + span.count - 1
    if len(runs) > 1 and all(s.step < 0 and abs(s.shift - whole) <= SHIFT for s in own):
        words = f'Line "{span.name}" is fed from its other end: its pixel 1 is at its last hole.'
        change = path_text(site, line, [(runs[k].item, True) for k in reversed(range(len(runs)))])
        return [Fault("other end", (span.name,), tuple(names), _all(span), words, change)]
    found: list[Fault] = []
    if (other := other_order(runs, span.first, own)) is not None:
        shown = " then ".join(f'"{runs[k].item.edge}"' for k in other)
        words = f'Line "{span.name}" runs along its edges in another order: {shown}.'
        change = path_text(site, line, [(runs[k].item, k in backward) for k in other])
        found.append(Fault("order", (span.name,), tuple(names), _all(span), words, change))
        return found
    found += [_reversed(site, line, span, runs, k) for k in order if k in backward]
    return found + _shifts(site, line, steps)


def _all(span: LineSpan) -> tuple[int, ...]:
    return tuple(range(span.first, span.first + span.count))


def _reversed(site: Site, line: int, span: LineSpan, runs: list[RunLayout], k: int) -> Fault:
    run = runs[k]
    first = span.first + run.first
    words = (
        f'Edge "{run.item.edge}" is wired the other way round: pixel {run.first + 1} of line '
        f'"{span.name}" is where the map has pixel {run.first + run.count}.'
    )
    change = path_text(site, line, [(r.item, i == k) for i, r in enumerate(runs)])
    pixels = tuple(range(first, first + run.count))
    return Fault("reversed", (span.name,), (run.item.edge,), pixels, words, change)


def _shifts(site: Site, line: int, steps: _Steps) -> list[Fault]:
    """Return where pixels are too many or too few."""
    span, runs = site.pixels.lines[line], _runs(site, line)
    own = [s for s in steps.made if span.first <= s.first < span.first + span.count]
    return [_miscounted(span, runs, s, steps.films) for s in sorted(own, key=lambda s: s.first)]


def _miscounted(span: LineSpan, runs: list[RunLayout], step: Step, films: int) -> Fault:
    count = abs(step.size)
    these = "a pixel" if count == 1 else f"{count} pixels"
    low, high = step.before - span.first + 1, step.first - span.first + 1
    edge = _run_of(runs, high).item.edge
    if high - low > UNSEEN:
        other = _run_of(runs, low).item.edge
        unseen = "which the film doesn't show" if films == 1 else "which no film shows"
        about = f"somewhere between pixels {low} and {high}, {unseen}"
        where = f'on "{edge}"' if other == edge else f'on "{other}" or "{edge}"'
    else:
        about = f"at about pixel {high}"
        begins = high == _run_of(runs, high).first + 1
        where = f'at the start of "{edge}"' if begins else f'on "{edge}"'
    pixels = tuple(
        range(max(span.first, step.before - 1), min(step.first + 3, span.first + span.count))
    )
    if step.size < 0:
        words = (
            f'Line "{span.name}" has {these} too many {about}, {where}: from there on each '
            f"pixel sits {_holes(count)} before its own."
        )
        fix = (
            f"look there for {these} without a hole; in the house file, put "
            f'{{ spares = {count} }} before "{edge}" if it is at a corner',
        )
        return Fault("too many", (span.name,), (edge,), pixels, words, fix)
    words = (
        f'Line "{span.name}" has {these} too few {about}, {where}: from there on each pixel '
        f"sits {_holes(count)} after its own."
    )
    fix = (
        f"look there for {_holes(count)} without a pixel; a later start of the edge in the path "
        "leaves a hole empty",
    )
    return Fault("too few", (span.name,), (edge,), pixels, words, fix)


def _run_of(runs: list[RunLayout], number: int) -> RunLayout:
    """Return the run of a line's pixel, which counts from 1."""
    return next(r for r in reversed(runs) if r.first < number)


def _holes(count: int) -> str:
    return "one hole" if count == 1 else f"{count} holes"
