"""Shared by several commands: common options, the progress bar, printing the report."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lumenmap.cli.shared.terminal import say

if TYPE_CHECKING:
    from lumenmap.jobs.project import Project


def house_file(named: Path) -> Path:
    """Return the house file that a person means: the one named, or house.toml in a folder."""
    return named / "house.toml" if named.is_dir() else named


def almanac_file(named: Path) -> Path:
    """Return the almanac that a person means: the one named, or almanac.toml in a folder."""
    return named / "almanac.toml" if named.is_dir() else named


def house_named(given: Path | None) -> Path | None:
    """Return the same of an option that may be left out."""
    return None if given is None else house_file(given)


Almanac = Annotated[
    Path,
    typer.Argument(
        metavar="ALMANAC", help="The almanac file, or its folder.", callback=almanac_file
    ),
]
Show = Annotated[Path, typer.Argument(metavar="SHOW", help="The show file.")]
House = Annotated[
    Path | None,
    typer.Option(
        "--house",
        metavar="FILE",
        help="Use this house, not the one that the show names.",
        callback=house_named,
    ),
]
Effects = Annotated[
    list[Path] | None,
    typer.Option(
        "--effects",
        metavar="FOLDER",
        help="A folder of your own effects. They are Python code, and it is run.",
    ),
]
Workers = Annotated[
    int,
    typer.Option("--workers", metavar="N", help="Render in N processes. The result is the same."),
]
Cluster = Annotated[
    str,
    typer.Option("--cluster", metavar="ADDRESS", help="Render on a Dask cluster: tcp://HOST:8786."),
]
TimeOfDay = Annotated[str, typer.Option("--time", help="day, dusk or night.")]
ViewNamed = Annotated[
    str, typer.Option("--view", help="street, front, from-left, from-right or upstairs.")
]
On = Annotated[
    list[str] | None,
    typer.Option(
        "--on",
        metavar="PLACE",
        help="Only on this edge, mass, kind of edge or group of the house. May be repeated.",
    ),
]
Json = Annotated[bool, typer.Option("--json", help="Print the report as JSON.")]


Values = Annotated[
    list[str] | None,
    typer.Option(
        "--set",
        metavar="NAME=NUMBER",
        help="A value of the show, in place of the one in its [values]: candles=3. May be "
        "repeated.",
    ),
]


def open_show(
    show: Path, house: Path | None, effects: list[Path] | None, values: list[str] | None = None
) -> Project:
    """Load a show and its house with the common options."""
    from lumenmap.jobs.project import load, read_set

    return load(show, house=house, effect_folders=effects or (), values=read_set(values))


@contextlib.contextmanager
def progress(what: str) -> Iterator[Callable[[int, int], None] | None]:
    """Show a progress bar on a terminal, and nothing elsewhere.

    It moves before anything is known of how much there is, and isn't full before the work is over:
    files are still to be written when the last frame is done.

    Yields a function to call with (frames done, frames in all), or None.
    """
    if not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(what, total=None)
        yield lambda done, total: bar.update(task, completed=min(done, 0.99 * total), total=total)


def print_report(
    report: Mapping[str, Any], lines: list[str], as_json: bool, *, fold: bool = True
) -> None:
    """Print a report, as JSON or as lines of text; ``fold`` as of `say`."""
    if as_json:
        import json

        print(json.dumps(report, indent=2))
    else:
        say(lines, fold=fold)


def exit_if_failed(report: Mapping[str, Any]) -> None:
    """Exit with code 1 if the report lists a problem."""
    if any(report.get(key) for key in ("refresh", "problems", "differences")):
        raise typer.Exit(1)
