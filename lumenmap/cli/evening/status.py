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
    from lumenmap.core.system import only_read
    from lumenmap.jobs.evening.status import now_utc, read_status, status_file, unheard
    from lumenmap.jobs.evening.status_words import words

    found, now, file = read_status(almanac), now_utc(), status_file(almanac)
    read_only, full = only_read(file.parent), unheard(found, file, now)
    unwritten = read_only or full
    if as_json:
        print(found.model_dump_json(indent=2))
    else:
        say(words(found, now, held=full))
        if unwritten:
            is_ = "can only be read" if read_only else "isn't written"
            say(
                [
                    f"problem: {file.parent} {is_} now, so lumenmap run may be doing something "
                    "else than was written there last. Look at its log, and at the disk."
                ]
            )
    away = any(c.state in ("no sign", "refuses") for c in found.network)
    if not found.alive(now) or found.problems or away or unwritten:
        raise typer.Exit(1)
