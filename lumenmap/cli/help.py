"""lumenmap help: reference pages of files, effects and commands."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from lumenmap.cli.shared.terminal import say

if TYPE_CHECKING:
    from lumenmap.reference.page import Page

#: A page is set no narrower and no wider than this.
_NARROWEST, _WIDEST = 40, 100


def help(
    topic: Annotated[
        str, typer.Argument(metavar="TOPIC", help="A topic or a command; leave out to list them.")
    ] = "",
    out: Annotated[
        Path | None,
        typer.Option("--html", metavar="FILE", help="Write every topic as one HTML page."),
    ] = None,
    unit: Annotated[
        str,
        typer.Option(
            help="ft or m: the unit that lengths are shown in; that of house.toml here by default."
        ),
    ] = "",
) -> None:
    """Explain every key, effect, pixel kind, format and command, a topic at a time.

    Example: lumenmap help house

    Example: lumenmap help effects --unit m

    Example: lumenmap help --html reference.html
    """
    from lumenmap.house.reading.unit import unit_here
    from lumenmap.reference import commands
    from lumenmap.reference.topics import TOPICS, page

    unit = unit or ("ft" if unit_here() in ("ft", "in") else "m")
    if out is not None:
        _write(out, [*(page(name, unit) for name in TOPICS), commands.in_full(_commands())])
    elif topic == "":
        _list()
    elif topic == "commands":
        _print(commands.listing(_commands()))
    elif topic not in TOPICS and topic in _commands():
        _print(commands.one(_commands(), topic))
    else:
        _print(page(topic, unit))


def _commands() -> dict[str, Any]:
    """Return every command's function by its name, and a group's as a table of its own."""
    from lumenmap.cli import COMMANDS, app, register

    register(COMMANDS)
    found: dict[str, Any] = {c.name or "": c.callback for c in app.registered_commands}
    for group in app.registered_groups:
        inner = group.typer_instance.registered_commands if group.typer_instance else ()
        found[group.name or ""] = {c.name or "": c.callback for c in inner}
    return {name.rstrip("_"): found[name.rstrip("_")] for name in COMMANDS}


def _list() -> None:
    from lumenmap.reference.topics import LISTING

    say([f"lumenmap help {name:9} {what}" for name, what in LISTING.items()])
    say(["", "lumenmap help --html FILE   all of it as one page for a browser"])


def _print(page: Page) -> None:
    from lumenmap.reference.terminal import lines

    width = min(max(shutil.get_terminal_size().columns, _NARROWEST), _WIDEST)
    for line in lines(page, width, bold=lambda text: typer.style(text, bold=True)):
        typer.echo(line)  # takes the style away where no terminal shows it


def _write(out: Path, pages: list[Page]) -> None:
    from lumenmap.core.files import write_whole
    from lumenmap.reference.html import html

    write_whole(out, html(pages, "lumenmap reference").encode())
    print(f"wrote {out}")
