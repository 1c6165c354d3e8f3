"""lumenmap tonight: what plays this evening."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared.options import Json, say


def tonight(
    almanac: Annotated[Path, typer.Argument(metavar="ALMANAC", help="The almanac file.")],
    on: Annotated[
        str, typer.Option("--on", metavar="DATE", help="Another day, as 2026-12-24.")
    ] = "",
    as_json: Json = False,
) -> None:
    """Report what plays tonight, from when to when, and when the sun sets.

    Example: lumenmap tonight my-house/almanac.toml

    Example: lumenmap tonight my-house/almanac.toml --on 2026-12-24
    """
    from datetime import UTC, datetime

    from lumenmap.almanac.load import load_almanac
    from lumenmap.almanac.tonight import parse_date
    from lumenmap.almanac.tonight import tonight as evening

    book = load_almanac(almanac)
    day = parse_date(on) if on else book.today(datetime.now(UTC))
    report, lines = evening(book, day)
    say(report, lines, as_json)
