"""A line's path: its items, with every edge known and no part of an edge used twice."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.lengths import show_about, show_length
from lumenmap.house.choices import Unit
from lumenmap.house.masses.filled import solids
from lumenmap.house.masses.mass import Mass
from lumenmap.house.model import Edge, Jumper, Run, Spares, Step
from lumenmap.house.paths import clearance, hidden_parts, item_key, met
from lumenmap.house.reading.fields import Meets
from lumenmap.house.reading.strings import LineTable, StepTable
from lumenmap.routes.route import no_edge, written
from lumenmap.solids.convex import DEEP, passages

#: The parts of each edge that lines use: (line, from, to), None for the edge's end.
UsedParts = dict[str, list[tuple[str, Fraction, Fraction | None]]]


def read_path(
    table: LineTable,
    edges: dict[str, Edge],
    masses: Sequence[Mass],
    used: UsedParts,
    unit: Unit,
) -> tuple[Step, ...]:
    """Return the steps of a line.

    Parameters
    ----------
    masses
        What an edge may meet.
    used
        What earlier lines use; this line's parts are added.

    Raises
    ------
    InputError
        No such edge, part of an edge used twice, or an item with too few or too many keys.
    """
    steps: list[Step] = []
    for i, item in enumerate(table.path):
        try:
            if isinstance(item, str):
                step: Step = _read_string(item)
            else:
                step = _read_table(item, edges, masses, unit)
            if isinstance(step, Run):
                _use(step, edges, used, table.name, unit)
        except InputError as error:
            here = item_key(table.name, i, _kind(item))
            key = f"{here}, {error.key}" if error.key else here
            raise InputError(error.message, key=key) from None
        steps.append(step)
    if not any(isinstance(step, Run) for step in steps):
        raise InputError("has no edge", key=f'line "{table.name}", path')
    return tuple(steps)


def _kind(item: str | StepTable) -> str:
    """Return what an item is, or the empty string for an edge."""
    kinds = ("jumper", "spares")
    return next((k for k in kinds if not isinstance(item, str) and getattr(item, k)), "")


def _read_string(text: str) -> Run:
    whole = written(text)
    return Run(whole.edge, bool(whole.reversed))


def _read_table(
    item: StepTable, edges: dict[str, Edge], masses: Sequence[Mass], unit: Unit
) -> Step:
    given = [k for k in ("edge", "jumper", "spares") if getattr(item, k) is not None]
    if len(given) != 1:
        raise InputError(
            f"has {' and '.join(given) or 'none of its keys'}; expected one of edge, jumper, spares"
        )
    if item.jumper is not None:
        return Jumper(item.jumper)
    if item.spares is not None:
        return Spares(item.spares)
    if item.edge not in edges:
        raise InputError(no_edge(str(item.edge), edges, table=True))
    edge = edges[item.edge]
    start = _place(edge, masses, item.start, into=False, unit=unit)
    stop = _place(edge, masses, item.stop, into=True, unit=unit)
    return Run(item.edge, item.reversed, start, stop)


def _place(
    edge: Edge, masses: Sequence[Mass], place: Fraction | Meets | None, *, into: bool, unit: Unit
) -> Fraction | None:
    """Return a place in m from the edge's start; ``into``: where it goes into what it meets.

    Otherwise it is where the edge comes out.
    """
    if not isinstance(place, Meets):
        return place
    names = [m.name for m in masses]
    if place.mass not in names:
        raise InputError(
            unknown("mass", place.mass, names, plural="Masses"), key="stop" if into else "start"
        )
    at = met(edge, next(m for m in masses if m.name == place.mass), into=into)
    if at is None:
        where = "goes into" if into else "comes out of"
        why = _why_never(edge, place.mass, masses, unit)
        raise InputError(
            f'edge "{edge.name}" never {where} "{place.mass}"{why}',
            key="stop" if into else "start",
        )
    return round(Fraction(at), 6)


def _why_never(edge: Edge, name: str, masses: Sequence[Mass], unit: Unit) -> str:
    """Return why an edge doesn't go into a mass, or come out of it, and by how much."""
    if name == edge.mass:
        return ", which it is part of"
    own = next((m for m in masses if m.name == edge.mass), None)
    if own is not None and own.leans_on == name:
        return f': "{own.name}" leans on that, so its edges end there by themselves'
    mass = next(m for m in masses if m.name == name)
    parts = hidden_parts(edge, [mass])
    if not parts:
        others = [m for m in masses if m.name not in (name, edge.mass)]
        found = [m.name for m in others if passages(solids(m), edge.points)]
        only = f"; it meets {' and '.join(found)}" if found else ""
        far = clearance(edge, mass)
        how = f"passes {show_about(far, unit)} from it" if far > DEEP else "only touches it"
        return f": it {how}{only}"
    low, high, _ = parts[0]
    inside = show_length(high - low, unit)
    if low > 0:
        return (
            f": it goes in {show_length(low, unit)} from its start, and the other {inside} are "
            f'inside; did you mean stop = "meets {name}"?'
        )
    if high < float(edge.measured or edge.length) - 1e-6:
        return (
            f": its first {inside} are inside, then it comes out; did you mean "
            f'start = "meets {name}"?'
        )
    return ": all of it is inside"


def _use(run: Run, edges: dict[str, Edge], used: UsedParts, line: str, unit: Unit) -> None:
    if run.edge not in edges:
        raise InputError(no_edge(run.edge, edges))
    edge = edges[run.edge]
    length = float(edge.measured or edge.length)
    low, high = run.start or Fraction(0), run.stop
    for name, position in (("start", run.start), ("stop", run.stop)):
        if position is not None and position > length + 1e-6:
            raise InputError(
                f'{name} is {show_length(position, unit)}, but edge "{run.edge}" is '
                f"{show_length(length, unit)} long"
            )
    if high is not None and high <= low:
        raise InputError(
            f"runs from {show_length(low, unit)} to {show_length(high, unit)}. Both count from the "
            "edge's own start: give the smaller one as start, and reversed = true"
        )
    for other, begun, ended in used.get(run.edge, []):
        if (ended is None or low < ended) and (high is None or begun < high):
            raise InputError(f'edge "{run.edge}" is used twice; it is already on line "{other}"')
    used.setdefault(run.edge, []).append((line, low, high))
