"""The change to the house file that makes the map like the house: a line's path as TOML."""

from __future__ import annotations

from lumenmap.core.lengths import show_length
from lumenmap.house.model import Jumper, Run, Spares
from lumenmap.site import Site


def path_text(site: Site, line: int, runs: list[tuple[Run, bool]]) -> tuple[str, ...]:
    """Return a line's ``path`` with runs in this order, each turned round if the flag says so.

    Jumpers stay where they were as long as the order is the same; else they are left to you, since
    their lengths change.
    """
    old = site.house.lines[line].path
    given = [step for step in old if isinstance(step, Run)]
    same = [run for run, _ in runs] == given
    if same:
        turned = iter(runs)
        items = [
            _run(*next(turned), site) if isinstance(step, Run) else _other(step, site)
            for step in old
        ]
    else:
        items = [_run(run, turn, site) for run, turn in runs]
        items += [_other(step, site) for step in old if isinstance(step, Spares)]
    text = [f'in line "{site.house.lines[line].name}" of the house file:', "path = ["]
    text += [f"  {item}," for item in items]
    text.append("]")
    if any(isinstance(step, Jumper) for step in old) and not same:
        text.append("with your jumpers between the edges")
    return tuple(text)


def _run(run: Run, turn: bool, site: Site) -> str:
    backwards = run.reversed != turn
    if run.start is None and run.stop is None:
        return f'"{run.edge} reversed"' if backwards else f'"{run.edge}"'
    parts = [f'edge = "{run.edge}"']
    for key, at in (("start", run.start), ("stop", run.stop)):
        if at is not None:
            parts.append(f'{key} = "{show_length(at, site.house.unit)}"')
    if backwards:
        parts.append("reversed = true")
    return "{ " + ", ".join(parts) + " }"


def _other(step: Jumper | Spares, site: Site) -> str:
    if isinstance(step, Jumper):
        return f'{{ jumper = "{show_length(step.length, site.house.unit)}" }}'
    return f"{{ spares = {step.count} }}"
