"""A line's path: what each item of it says, with its edge known and lit once."""

from __future__ import annotations

from lumenmap.core.errors import InputError, unknown
from lumenmap.house.file import LineTable, StepTable
from lumenmap.house.model import Edge, Jumper, Run, Spares, Step


def path(table: LineTable, edges: dict[str, Edge], used: dict[str, str]) -> tuple[Step, ...]:
    """Return the steps of a line.

    Parameters
    ----------
    used
        Edge to the line that it is on already; grows.

    Raises
    ------
    InputError
        No such edge, an edge used twice, or an item that says nothing or too much.
    """
    steps: list[Step] = []
    for i, item in enumerate(table.path):
        try:
            step = _word(item) if isinstance(item, str) else _table(item)
            if isinstance(step, Run):
                _use(step, edges, used, table.name)
        except InputError as error:
            raise error.at(key=f'line "{table.name}", path[{i}]') from None
        steps.append(step)
    if not any(isinstance(step, Run) for step in steps):
        raise InputError("lies on no edge", key=f'line "{table.name}", path')
    return tuple(steps)


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
    return Run(str(item.edge), reversed=item.reversed)


def _use(run: Run, edges: dict[str, Edge], used: dict[str, str], line: str) -> None:
    if run.edge not in edges:
        raise InputError(unknown("edge", run.edge, edges))
    if run.edge in used:
        raise InputError(
            f'edge "{run.edge}" is used twice; it is already on line "{used[run.edge]}"'
        )
    used[run.edge] = line
