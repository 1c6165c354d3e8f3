"""lumenmap status: what lumenmap run is doing."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared.options import Json
from lumenmap.cli.shared.terminal import say


def status(
    almanac: Annotated[
        Path,
        typer.Argument(metavar="ALMANAC", help="The almanac file, or the folder of the state."),
    ],
    as_json: Json = False,
) -> None:
    """Show what lumenmap run is doing: what plays, current, controllers, problems.

    Exits with 1 if it isn't running, a controller is away, or anything else is wrong.

    Example: lumenmap status my-house/almanac.toml
    """
    from lumenmap.jobs.evening.status import now_utc, read_status
    from lumenmap.jobs.evening.status_words import words

    found, now = read_status(almanac), now_utc()
    if as_json:
        print(found.model_dump_json(indent=2))
    else:
        say(words(found, now))
    away = any(c.state in ("no sign", "refuses") for c in found.network)
    if not found.alive(now) or found.problems or away:
        raise typer.Exit(1)
