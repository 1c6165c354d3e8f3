"""lumenmap year: a year of evenings as a table, a picture or a calendar."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lumenmap.cli.shared.options import Almanac, Json, print_report


def year(
    almanac: Almanac,
    number: Annotated[
        int | None,
        typer.Option("--year", help="The year; this year by default.", min=1900, max=2200),
    ] = None,
    picture: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Draw the year to this PNG file.")
    ] = None,
    ics: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Write a calendar file (iCalendar, RFC 5545)."),
    ] = None,
    board: Annotated[
        Path | None,
        typer.Option(
            metavar="FOLDER",
            help="Write all shows and the year's table for a board that plays them by itself.",
        ),
    ] = None,
    untimed: Annotated[
        str,
        typer.Option(
            metavar="SHOW",
            help="What the board plays while it doesn't know the time, or none; the show of most "
            "evenings if left out.",
        ),
    ] = "",
    everything: Annotated[
        bool, typer.Option("--all", help="A line for each piece of each evening.")
    ] = False,
    as_json: Json = False,
) -> None:
    """Show what plays through a year: which shows on which evenings, from when to when.

    Of times that follow the sun it gives the earliest and the latest, as 16:28-16:33.

    Example: lumenmap year my-house/almanac.toml --board board

    Example: lumenmap year my-house/almanac.toml --year 2026 --picture year.png --ics year.ics
    """
    from datetime import UTC, datetime

    from lumenmap.almanac.ics import calendar
    from lumenmap.almanac.load import load_almanac
    from lumenmap.almanac.tonight import Titles, missing, played, row
    from lumenmap.almanac.year import (
        days_of,
        stretch_lines,
        stretches,
        year_picture,
        year_pieces,
    )
    from lumenmap.core.files import whole_file, write_whole
    from lumenmap.core.wording import some

    book = load_almanac(almanac)
    chosen = number or book.today(datetime.now(UTC)).year
    pieces = year_pieces(book, chosen)
    titles = Titles()
    rows = [row(book, piece, titles[piece.show]) for piece in pieces]
    if everything:
        lines = [f"{'date':10}  {'from':5}  {'to':5}  {'light':>5}  show (rule)"]
        for r in rows:
            times = f"{r['date']}  {r['from']}  {r['to']}"
            what = played(r["title"], 1, r["rule"])
            lines.append(f"{times}  {100 * r['brightness']:5.0f} %  {what}")
    else:
        zone = book.place.zone
        lines = [line for run in stretches(rows) for line in stretch_lines(run, zone)]
    lines.append(f"{some(len({r['date'] for r in rows}), 'evening')} in {chosen}")
    problems = [book.elsewhere] if book.elsewhere else []
    problems += missing(book, days_of(chosen))
    lines += [f"problem: {text}" for text in problems]
    if picture is not None:
        with whole_file(picture) as partial:
            year_picture(book, chosen, partial)
        lines.append(f"wrote {picture}")
    if ics is not None:
        write_whole(ics, calendar(book, pieces))
        lines.append(f"wrote {ics}")
    made = None
    if board is not None:
        from lumenmap.jobs.board import TABLE, rendered, year_board

        made = year_board(book, chosen, board, rendered, default=untimed)
        lines.append(f"wrote {board}/: a board that plays {chosen} by itself; BOARD.md says how")
        lines += [f"  {i['file']}: {i['show']}, {i['bytes']:,} bytes" for i in made["images"]]
        lines.append(
            f"  {TABLE}: {some(made['stretches'], 'stretch')}, {made['table_bytes']:,} bytes"
        )
        lines.append(f"  while the time isn't known: {made['untimed']}")
    extra = {"board": made} if made else {}
    report = {**extra, "year": chosen, "pieces": rows, "problems": problems}
    print_report(report, lines, as_json)
