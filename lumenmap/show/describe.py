"""Descriptions of effects, for people and for programs."""

from __future__ import annotations

from typing import Any

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.units import LENGTH
from lumenmap.motion.ways import OTHER_WAYS, WAYS
from lumenmap.show.registry import Effect, Spec

Described = tuple[dict[str, Any], list[str]]


def listing(known: dict[str, Effect]) -> Described:
    """Return all effects, one line each: as data, and as lines to print."""
    width = max(map(len, known), default=0)
    rows = [{"name": e.name, "summary": e.summary, "source": e.source} for e in known.values()]
    lines = [f"{e.name:{width}}  {e.summary}" for e in known.values()]
    return {"effects": rows}, [*lines, "", "For the options of one: lumenmap effects NAME"]


def describe(effect: Effect, unit: str = "ft") -> Described:
    """Return what one effect does and its options: as data, and as lines to print.

    Raises
    ------
    InputError
        Not a unit of length.
    """
    if unit not in LENGTH:
        raise InputError(unknown("unit", unit, LENGTH))
    rows = [_row(spec, unit) for spec in effect.options.values()]
    lines = [f"{effect.name}: {effect.summary}", f"from {effect.source}", ""]
    for row in rows:
        lines.append(f"  {row['name']} = {row['default']}")
        steady = "; can't change over time" if row["steady"] else ""
        lines.append(f"      {row['help']} ({row['expected']}{steady})")
    if any(row["kind"] == "way" for row in rows):
        ways = {**WAYS, **OTHER_WAYS}.items()
        lines += ["", "ways:", *(f"  {name:14} {what}" for name, what in ways)]
    return {"name": effect.name, "summary": effect.summary, "options": rows}, lines


def _row(spec: Spec, unit: str) -> dict[str, Any]:
    default = spec.kind.unset if spec.default is None else spec.kind.text(spec.default, unit)
    return {
        "name": spec.name,
        "kind": type(spec.kind).__name__.lower(),
        "help": spec.kind.help,
        "default": default,
        "expected": spec.kind.expected(unit),
        "steady": spec.kind.gradual and not spec.may_vary,
    }
