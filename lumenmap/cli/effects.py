"""lumenmap effects: what there is, what each does, and how it looks."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from lumenmap.cli.shared.options import Effects, Json, say


def effects(
    name: Annotated[str, typer.Argument(help="One effect, to read all about it.")] = "",
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", metavar="FILE", help="Draw it, or all of them, as a PNG."),
    ] = None,
    house: Annotated[
        Path | None,
        typer.Option("--house", metavar="FILE", help="Draw it on this house; else house.toml."),
    ] = None,
    effects: Effects = None,
    unit: Annotated[str, typer.Option(help="ft or m: the unit that lengths are shown in.")] = "ft",
    as_json: Json = False,
) -> None:
    """List the effects, or explain one and its options, with units and ranges.

    With -o, draw its light over distance and time, and on a house; without a name, all of them.

    Example: lumenmap effects chase

    Example: lumenmap effects chase -o chase.png --house my-house/house.toml
    """
    from lumenmap.show.describe import describe, listing
    from lumenmap.show.quick import find
    from lumenmap.show.registry import effects as registry

    known = registry(effects or ())
    report: dict[str, Any]
    if name:
        report, lines = describe(find(known, "effect", name), unit)
    else:
        report, lines = listing(known)
    say(report, lines, as_json)
    if out is not None:
        _draw(name, out, house, effects or [])


def _draw(name: str, out: Path, house: Path | None, folders: list[Path]) -> None:
    from lumenmap.core.files import whole_file
    from lumenmap.jobs import trial

    if name:
        image = trial.picture(trial.trial(name, house=house, effect_folders=folders))
    else:
        image = trial.contact_sheet(trial.every_effect(house, folders))
    with whole_file(out) as beside:
        image.save(beside, "PNG")
    print(f"wrote {out}")
