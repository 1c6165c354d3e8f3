"""A line's path: what each item of it says, with its edge known and no stretch lit twice."""

from __future__ import annotations

from fractions import Fraction

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.units import show_length
from lumenmap.house.electric import LineTable, StepTable
from lumenmap.house.model import Edge, Jumper, Run, Spares, Step

#: What lines already light of each edge: (line, from, to), to None for the edge's end.
Used = dict[str, list[tuple[str, Fraction, Fraction | None]]]


def path(table: LineTable, edges: dict[str, Edge], used: Used, unit: str) -> tuple[Step, ...]:
    """Return the steps of a line.

    Parameters
    ----------
    used
        What lines before it light; grows.

    Raises
    ------
    InputError
        No such edge, a stretch used twice, or an item that says nothing or too much.
    """
    steps: list[Step] = []
    for i, item in enumerate(table.path):
        try:
            step = _word(item) if isinstance(item, str) else _table(item)
            if isinstance(step, Run):
                _use(step, edges, used, table.name, unit)
        except InputError as error:
            raise error.at(key=item_key(table.name, i, _kind(item))) from None
        steps.append(step)
    if not any(isinstance(step, Run) for step in steps):
        raise InputError("lies on no edge", key=f'line "{table.name}", path')
    return tuple(steps)


def item_key(line: str, i: int, kind: str = "") -> str:
    """Name an item of a path as a person counts: from 1, with what it is if no edge."""
    return f'line "{line}", path item {i + 1}' + (f" ({kind})" if kind else "")


def _kind(item: str | StepTable) -> str:
    """Return what an item is, if no edge."""
    kinds = ("jumper", "spares")
    return next((k for k in kinds if not isinstance(item, str) and getattr(item, k)), "")


def _word(text: str) -> Run:
    name = text.strip()
    if name.endswith(" reversed"):
        return Run(name.removesuffix(" reversed").strip(), reversed=True)
    return Run(name)


def _table(item: StepTable) -> Step:
    given = [k for k in ("edge", "jumper", "spares") if getattr(item, k) is not None]
    if len(given) != 1:
        raise InputError(
            f"has {' and '.join(given) or 'nothing'}; wanted one of edge, jumper, spares"
        )
    if item.jumper is not None:
        return Jumper(item.jumper)
    if item.spares is not None:
        return Spares(item.spares)
    return Run(str(item.edge), item.reversed, item.start, item.stop)


def _use(run: Run, edges: dict[str, Edge], used: Used, line: str, unit: str) -> None:
    if run.edge not in edges:
        raise InputError(unknown("edge", run.edge, edges))
    edge = edges[run.edge]
    length = float(edge.measured or edge.length)
    low, high = run.start or Fraction(0), run.stop
    for name, place in (("start", run.start), ("stop", run.stop)):
        if place is not None and place > length + 1e-6:
            raise InputError(
                f'{name} is {show_length(place, unit)}, but edge "{run.edge}" is '
                f"{show_length(length, unit)} long"
            )
    if high is not None and high <= low:
        raise InputError(
            f"runs from {show_length(low, unit)} to {show_length(high, unit)}; both are measured "
            'from the edge\'s own start, so write the smaller as start and "reversed = true"'
        )
    for other, begun, ended in used.get(run.edge, []):
        if (ended is None or low < ended) and (high is None or begun < high):
            raise InputError(f'edge "{run.edge}" is used twice; it is already on line "{other}"')
    used.setdefault(run.edge, []).append((line, low, high))
