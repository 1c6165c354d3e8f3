"""lumenmap tonight: what plays this evening."""

from __future__ import annotations

from typing import Annotated

import typer

from lumenmap.cli.shared.options import Almanac, Json, print_report


def tonight(
    almanac: Almanac,
    on: Annotated[
        str, typer.Option("--on", metavar="DATE", help="Another day, such as 2026-12-24.")
    ] = "",
    as_json: Json = False,
) -> None:
    """Show what plays tonight, its times, and the time of sunset.

    Example: lumenmap tonight my-house/almanac.toml

    Example: lumenmap tonight my-house/almanac.toml --on 2026-12-24
    """
    from datetime import UTC, datetime

    from lumenmap.almanac.choice import tonight_date
    from lumenmap.almanac.load import load_almanac
    from lumenmap.almanac.tonight import parse_date
    from lumenmap.almanac.tonight import tonight as evening

    found = load_almanac(almanac)
    day = parse_date(on) if on else tonight_date(found, datetime.now(UTC))
    report, lines = evening(found, day)
    print_report(report, lines, as_json)
