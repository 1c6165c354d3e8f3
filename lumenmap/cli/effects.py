"""lumenmap effects: list, describe and draw the effects."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from lumenmap.cli.shared.options import Effects, Json, print_report


def effects(
    name: Annotated[
        str, typer.Argument(help="An effect, or a plain word such as fire or snow.")
    ] = "",
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", metavar="FILE", help="Draw it, or all of them, as a PNG file."),
    ] = None,
    house: Annotated[
        Path | None,
        typer.Option(
            "--house", metavar="FILE", help="Draw it on this house; house.toml by default."
        ),
    ] = None,
    effect_folders: Effects = None,
    unit: Annotated[str, typer.Option(help="Unit for lengths: ft or m.")] = "ft",
    as_json: Json = False,
) -> None:
    """List the effects, or explain one and its options, with units and ranges.

    A plain word finds the effects that look like it. With -o, draw the effect's light over
    distance and time, and on a house. Without a name, draw them all.

    Example: lumenmap effects chase

    Example: lumenmap effects snow

    Example: lumenmap effects chase -o chase.png --house my-house/house.toml
    """
    from lumenmap.show.describe import describe, found_by, listing
    from lumenmap.show.effects.registry import effects as registry
    from lumenmap.show.quick import find
    from lumenmap.show.suggest import effects_for

    known = registry(effect_folders or ())
    report: dict[str, Any]
    if name:
        likely = [] if name in known else effects_for(name, known)
        if likely:
            report, lines = found_by(name, [known[n] for n in likely], unit)
            name = likely[0]
        else:
            report, lines = describe(find(known, name), unit)
    else:
        report, lines = listing(known)
    print_report(report, lines, as_json)
    if out is not None:
        _draw(name, out, house, effect_folders or [])


def _draw(name: str, out: Path, house: Path | None, folders: list[Path]) -> None:
    from lumenmap.core.files import whole_file
    from lumenmap.jobs import trial

    if name:
        image = trial.picture(trial.trial(name, house=house, effect_folders=folders))
    else:
        image = trial.contact_sheet(trial.every_effect(house, folders))
    with whole_file(out) as partial:
        image.save(partial, "PNG")
    print(f"wrote {out}")
