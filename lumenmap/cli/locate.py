"""lumenmap locate: test patterns for work on the ladder."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, cast

import typer

from lumenmap.cli.shared.options import house_file
from lumenmap.cli.shared.terminal import say
from lumenmap.cli.shared.wire import (
    Interface,
    Ipv6,
    Multicast,
    Port,
    To,
    send_pattern,
)

if TYPE_CHECKING:
    from lumenmap.controller.locate import Question


def locate(
    house: Annotated[Path, typer.Argument(metavar="HOUSE", help="The house file, or its folder.")],
    question: Annotated[
        str,
        typer.Argument(
            metavar="QUESTION",
            help="pixel: which is number N? count: where are the tens? walk: does each line run as "
            "mapped? edges: is each edge where it should be? order: which colour comes first?",
        ),
    ],
    pixel: Annotated[
        int, typer.Option("--number", "-n", help="For pixel: its number, from 1.")
    ] = 1,
    line: Annotated[str, typer.Option(help="Use this data line only.")] = "",
    brightness: Annotated[
        float, typer.Option(help="0 to 0.3; keep it low, you'll be standing next to it.")
    ] = 0.1,
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", metavar="FILE", help="Write it to a file instead of sending."),
    ] = None,
    as_format: Annotated[
        str, typer.Option("--format", help="Format of that file: see lumenmap export --help.")
    ] = "raw",
    to: To = None,
    multicast: Multicast = False,
    ipv6: Ipv6 = False,
    port: Port = 5568,
    interface: Interface = "",
) -> None:
    """Find pixels on the real house: a dim pattern that answers one question.

    Ladder safety: set the feet about a quarter of the working length out from the wall, face the
    ladder, keep three points of contact, look up for overhead wires, and don't work alone, in wind
    or on ice. Unplug the supply before you touch wiring.

    Example: lumenmap locate my-house/house.toml pixel -n 57 --line front --to 192.168.1.40

    Example: lumenmap locate my-house/house.toml edges --to 192.168.1.40
    """
    from lumenmap.controller.files.registry import check_ending, format_named
    from lumenmap.controller.ways import feed
    from lumenmap.jobs.sending import pattern_frames

    house = house_file(house)
    if out is not None:
        check_ending(as_format, out)
    frames, words = pattern_frames(
        house, cast("Question", question), pixel=pixel, line=line, brightness=brightness
    )
    say(words)
    if out is not None:
        format_named(as_format).write(frames, out, {})
        print(f"wrote {out}")
        return
    given = feed(to or (), multicast=multicast, ipv6=ipv6, port=port)
    send_pattern(house, frames, given, interface, "press Ctrl-C to stop")
