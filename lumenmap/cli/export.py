"""lumenmap export: the frame files alone."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared import Effects, House, Json, Show, finish, open_show, progress, say
from lumenmap.cli.wording import summary


def export(
    show: Show,
    out: Annotated[Path, typer.Option("--out", "-o", metavar="DIR", help="Where to write.")],
    house: House = None,
    effects: Effects = None,
    as_json: Json = False,
) -> None:
    """Write the frame files for the controller: frames.rgb and frames.json.

    Example: lumenmap export my-house/show.toml -o out
    """
    from lumenmap import pipeline

    work = open_show(show, house, effects)
    with progress("rendering") as told:
        report = pipeline.export(work, out, progress=told)
    say(report, [*summary(report), f"wrote {out}/: frames.rgb, frames.json"], as_json)
    finish(report)
