"""A year on the board: every show's image, the table of the year, and the player, in one folder."""

from __future__ import annotations

import math
import tempfile
from collections import Counter
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from lumenmap.almanac.model import Almanac, Piece
from lumenmap.almanac.values import Values
from lumenmap.almanac.year import year_pieces
from lumenmap.controller.board.folder import board_files
from lumenmap.controller.board.table import MOST_IMAGES, NO_IMAGE, Entry, image_id, year_table
from lumenmap.controller.files.frameset import FrameSet
from lumenmap.controller.flash.pack import pack
from lumenmap.core.errors import InputError, unknown
from lumenmap.core.files import write_whole
from lumenmap.core.folders.output_set import OutputSet

TABLE = "year.lmyt"
#: Renders a show with its values into a folder and checks it against its budgets.
Render = Callable[[Path, Path, Values], FrameSet]


def year_board(
    almanac: Almanac, year: int, folder: Path, render: Render, *, default: str = ""
) -> dict[str, Any]:
    """Write the folder of a board that plays a year by itself; return what it holds.

    Parameters
    ----------
    render
        Makes the frames of a show file in a folder.
    default
        What plays while the board doesn't know the time: a show's file name, or ``none``; the show
        of most evenings if empty.

    Raises
    ------
    InputError
        Nothing plays in this year, too many shows, shows of different houses, no such default.
    """
    pieces, span = pieces_of(almanac, year)
    shows = [show for show, _ in Counter((p.show, p.values) for p in pieces).most_common()]
    if not shows:
        raise InputError(f"nothing plays in {year}", file=almanac.file)
    if len(shows) > MOST_IMAGES:
        raise InputError(f"{len(shows)} shows in {year}; the board has room for {MOST_IMAGES}")
    names = [show.name for show, _ in shows]
    if default and default not in (*names, "none"):
        raise InputError(unknown("show", default, [*names, "none"]), key="--untimed")
    number = NO_IMAGE if default == "none" else names.index(default or names[0])
    report: dict[str, Any] = {"year": year, "images": [], "untimed": default or names[0]}
    first: FrameSet | None = None
    ids = []
    with OutputSet(folder) as files, tempfile.TemporaryDirectory(prefix="lumenmap-") as place:
        for i, (show, values) in enumerate(shows):
            frames = render(show, Path(place) / str(i), values)
            first = first or frames
            _same_house(first, frames, show)
            image, _ = pack(frames)
            ids.append(image_id(image))
            files.path(f"{i}.lmfi").write_bytes(image)
            report["images"].append(
                {
                    "file": f"{i}.lmfi",
                    "show": show.name,
                    "values": dict(values),
                    "bytes": len(image),
                }
            )
        table = year_table(entries(pieces, shows), ids, span, default=number)
        files.path(TABLE).write_bytes(table)
        sources = board_files(first) if first is not None else {}
    for name, data in sources.items():
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        write_whole(folder / name, data)
    return {**report, "stretches": len(pieces), "table_bytes": len(table)}


def pieces_of(almanac: Almanac, year: int) -> tuple[list[Piece], tuple[int, int]]:
    """Return a year's pieces, and its span in seconds since 1970, local midnight to midnight.

    What the last evening of the year before still plays belongs to it, and so does all of what its
    own last evening plays, after midnight too.
    """
    zone = almanac.place.zone
    begin, end = (datetime(y, 1, 1, tzinfo=zone).astimezone(UTC) for y in (year, year + 1))
    eve = almanac.evening(date(year, 1, 1) - timedelta(days=1))[0]
    pieces = [p for p in eve if p.stop > begin] + year_pieces(almanac, year)
    stop = max([end, *(p.stop for p in pieces)])
    return pieces, (_seconds(begin), _seconds(stop))


def entries(pieces: list[Piece], shows: list[tuple[Path, Values]]) -> list[Entry]:
    """Return the table's entries; brightness is rounded down."""
    made = [
        Entry(
            _seconds(p.start),
            _seconds(p.stop),
            min(_seconds(p.begun), _seconds(p.start)),
            shows.index((p.show, p.values)),
            max(0, math.floor(256 * p.brightness) - 1),
        )
        for p in pieces
    ]
    return [e for e in made if e.stop > e.start]


def _seconds(moment: datetime) -> int:
    return round(moment.timestamp())


def _same_house(first: FrameSet, frames: FrameSet, show: Path) -> None:
    if (first.lines, first.channels) != (frames.lines, frames.channels):
        raise InputError("is for another house than the first show of the year", file=show)


def rendered(show: Path, folder: Path, values: Values = ()) -> FrameSet:
    """Render and check a show: the usual way to make frames."""
    from lumenmap.jobs.project import load
    from lumenmap.jobs.sending import exported_frames, is_exported, rendered_frames

    if is_exported(show):
        return exported_frames(show, values=dict(values))
    folder.mkdir(parents=True, exist_ok=True)
    return rendered_frames(load(show, values=dict(values)), folder)
