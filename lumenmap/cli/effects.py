"""lumenmap effects: list, describe and draw the effects."""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, cast

import typer

from lumenmap.cli.shared.options import (
    Effects,
    Json,
    On,
    TimeOfDay,
    ViewNamed,
    house_named,
    print_report,
    progress,
)

if TYPE_CHECKING:
    from lumenmap.pictures.scene.look import Time
    from lumenmap.pictures.scene.view import ViewName


def effects(
    name: Annotated[
        str, typer.Argument(help="An effect, or a plain word such as fire or snow.")
    ] = "",
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            metavar="FILE",
            help="Draw it, or all of them, as .png or .jpg; or as .html, a page to choose from.",
        ),
    ] = None,
    house: Annotated[
        Path | None,
        typer.Option(
            "--house",
            metavar="FILE",
            help="Draw it on this house; house.toml by default.",
            callback=house_named,
        ),
    ] = None,
    effect_folders: Effects = None,
    unit: Annotated[
        str, typer.Option(help="Unit for lengths: ft or m; that of the house by default.")
    ] = "",
    time: TimeOfDay = "dusk",
    view: ViewNamed = "street",
    at: Annotated[
        str | None, typer.Option("--at", help="With -o: the moment on the house, as 0:05.")
    ] = None,
    on: On = None,
    as_json: Json = False,
) -> None:
    """List the effects, or explain one and its options, with units and ranges.

    A plain word finds the effects that look like it. With -o, draw the effect's light over
    distance and time, and on a house. Without a name, draw them all; -o effects.html is a page
    with all of them side by side, on your house, to choose from.

    Example: lumenmap effects chase

    Example: lumenmap effects snow

    Example: lumenmap effects chase -o chase.png --house my-house/house.toml
    """
    from lumenmap.house.reading.unit import unit_here
    from lumenmap.show.describe import describe, found_by, listing
    from lumenmap.show.effects.registry import effects as registry
    from lumenmap.show.quick import find
    from lumenmap.show.suggest import effects_for

    known = registry(effect_folders or ())
    unit = unit or unit_here(house)
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
        from lumenmap.jobs.effect_pictures import Setting, draw, every_effect
        from lumenmap.jobs.trial import only, trial
        from lumenmap.pictures.moments import read_moment
        from lumenmap.pictures.scene.look import Look

        moment = None if at is None else read_moment(at)
        folders, places = effect_folders or [], on or []
        again = _words(house, time, view, places, folders)
        setting = Setting(Look(cast("Time", time)), cast("ViewName", view), moment, again)
        with progress("drawing") as update:
            if name:
                projects = [only(trial(name, house=house, effect_folders=folders), places)]
            else:
                projects = every_effect(house, folders, places)
            draw(out, projects, setting, update)
        print(f"wrote {out}")


def _words(
    house: Path | None, time: str, view: str, on: list[str], effect_folders: list[Path]
) -> str:
    """Return the options that make another command draw the same, as a person types them."""
    words = ["--house", str(house)] if house is not None else []
    words += ["--time", time] if time != "dusk" else []
    words += ["--view", view] if view != "street" else []
    words += [word for place in on for word in ("--on", place)]
    words += [word for folder in effect_folders for word in ("--effects", str(folder))]
    return shlex.join(words)
