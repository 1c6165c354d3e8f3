"""`suggest`: plan how to feed a house, and judge the plans."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lumenmap.core.errors import InputError
from lumenmap.parts.wires import wire
from lumenmap.power.feeding.choose import plans, steps
from lumenmap.power.feeding.groundwork.ground import Ground
from lumenmap.power.feeding.judge import ShowCodes
from lumenmap.power.feeding.suggestions import Suggestions
from lumenmap.power.feeding.wish import wished
from lumenmap.site import Site


@dataclass(frozen=True, slots=True)
class Asked:
    """What the plans are for, and what they may be made of.

    Attributes
    ----------
    light
        ``full``, ``60%``, ``shows`` or ``wiring``.
    margin
        Volts to keep above the pixels' least, as a part of it.
    anywhere
        Whether feeds and taps may be at any pixel, not at connectors only.
    size
        A wire that buses and trunks are to be of.
    """

    light: str = "full"
    margin: float = 0.05
    anywhere: bool = False
    size: str = ""


def suggest(
    site: Site,
    shows: Sequence[ShowCodes] = (),
    asked: Asked = Asked(),
    notes: Sequence[str] = (),
) -> Suggestions:
    """Plan how to feed a house; ``notes`` are printed with the plans.

    Raises
    ------
    InputError
        Not such a light or wire; a house without a supply.
    """
    site, table = _with_table(site)
    if not site.house.supplies:
        raise InputError("has no [[supply]] to plan with", file=site.house.file)
    size = wire(asked.size).name if asked.size else ""
    ground = Ground(site, 1.0, asked.margin, asked.anywhere, size)
    level, words = wished(asked.light, ground, shows)
    ground = ground.at(level)
    found = plans(ground, shows)
    unused = {s.name for s in site.house.supplies} - {s.supply.name for s in ground.stretches}
    idle = [f'Supply "{name}" feeds no line, so no plan uses it.' for name in sorted(unused)]
    return Suggestions(
        ground,
        words,
        tuple(found),
        tuple(steps(ground, found)),
        (*table, *notes, *idle),
    )


def _with_table(site: Site) -> tuple[Site, tuple[str, ...]]:
    """Return a site whose ampacity table has its string's wire: the planner's, if its own hasn't.

    Without that row nothing along the line could be planned.
    """
    defaults = site.house.wire_defaults
    try:
        defaults.may_carry(wire(defaults.string))
    except InputError as error:
        other = replace(defaults, ampacity="planner")
        other.may_carry(wire(defaults.string))
        return site.rewired(wire_defaults=other), (
            f'The plans use ampacity table "planner": {error.message}.',
        )
    return site, ()
