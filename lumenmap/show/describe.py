"""Descriptions of effects, for people and for programs."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from lumenmap.core.errors import InputError, unknown
from lumenmap.core.units import LENGTH
from lumenmap.motion.ways import OTHER_WAYS, WAYS
from lumenmap.show.effects.effect import Effect
from lumenmap.show.effects.specs import Spec

Described = tuple[dict[str, Any], list[str]]


def listing(known: Mapping[str, Effect]) -> Described:
    """Return all effects, one line each: as data, and as lines to print."""
    width = max(map(len, known), default=0)
    rows = [{"name": e.name, "summary": e.summary, "source": e.source} for e in known.values()]
    lines = [f"{e.name:{width}}  {e.summary}" for e in known.values()]
    last = "For the options of one: lumenmap effects NAME, or a plain word such as snow"
    return {"effects": rows}, [*lines, "", last]


def found_by(word: str, likely: list[Effect], unit: str = "ft") -> Described:
    """Return what a plain word leads to: the effect itself if it is one, else a list of them.

    Raises
    ------
    InputError
        Not a unit of length.
    """
    first, lines = describe(likely[0], unit)
    data = {"word": word, "found": [e.name for e in likely], **first}
    if len(likely) == 1:
        return data, [f'"{word}" is {likely[0].name}', "", *lines]
    width = max(len(e.name) for e in likely)
    rows = [f"  {e.name:{width}}  {e.summary}" for e in likely]
    return data, [f'"{word}" may be one of these', *rows, "", *lines]


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
    if effect.words:
        lines += ["", f"found by: {', '.join(effect.words)}"]
    if any(row["kind"] == "way" for row in rows):
        ways = {**WAYS, **OTHER_WAYS}.items()
        lines += ["", "ways:", *(f"  {name:14} {what}" for name, what in ways)]
    data = {"name": effect.name, "summary": effect.summary, "words": list(effect.words)}
    return {**data, "options": rows}, lines


def _row(spec: Spec, unit: str) -> dict[str, Any]:
    return {
        "name": spec.name,
        "kind": type(spec.kind).__name__.lower(),
        "help": spec.kind.help,
        "default": spec.usual(unit),
        "expected": spec.kind.expected(unit),
        "steady": spec.kind.gradual and not spec.may_vary,
    }
