"""lumenmap survey: film the blinking house, and see what is wired otherwise than the map says."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, NamedTuple

import typer

from lumenmap.cli.shared.options import Json, house_file, print_report, progress
from lumenmap.cli.shared.terminal import say
from lumenmap.cli.shared.wire import (
    Interface,
    Ipv6,
    Multicast,
    Port,
    To,
    send_pattern,
)
from lumenmap.core.errors import InputError


def survey(
    house: Annotated[Path, typer.Argument(metavar="HOUSE", help="The house file, or its folder.")],
    films: Annotated[
        list[Path] | None,
        typer.Option(
            "--film",
            metavar="FILM",
            help="Read this film of the blinking: MP4, MOV, MKV. May be repeated, with films from "
            "other places: what they show is judged together.",
        ),
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out",
            "-o",
            metavar="FILE",
            help="With --film, a picture of what was found (.png), all films one under another. "
            "Without, the file to write the blinking to, instead of sending it.",
        ),
    ] = None,
    as_format: Annotated[
        str, typer.Option("--format", help="Format of that file: see lumenmap export --help.")
    ] = "raw",
    keep: Annotated[
        Path | None,
        typer.Option(
            "--keep",
            metavar="FILE",
            help="With --film, keep the dark house and the light measured in the film (.npz): "
            "preview --photo draws shows with it. Of several films each is kept by itself, as "
            "night-front.npz and night-left.npz for --keep night.npz.",
        ),
    ] = None,
    brightness: Annotated[
        float,
        typer.Option(
            help="0 to 0.5; lower it if the pixels run together in the film. With --keep, what the "
            "blinking was sent with."
        ),
    ] = 0.2,
    to: To = None,
    multicast: Multicast = False,
    ipv6: Ipv6 = False,
    port: Port = 5568,
    interface: Interface = "",
    as_json: Json = False,
) -> None:
    """Check the wiring from the street: the house blinks, you film it, the film is read.

    Sends the blinking until you press Ctrl-C; film one whole round. Then give the film: it says
    which edges are reversed or in another order, which lines are exchanged, where pixels are too
    many, too few or dark, and whether the colours are right, with the change to the house file.
    Exits with 1 if anything is wired otherwise than the map says.

    From one place you see a side of the house or two. Film the others as well, one whole round
    each, and give all films at once: a fault that no film shows alone may show in them together.

    Example: lumenmap survey my-house/house.toml --to 192.168.1.40

    Example: lumenmap survey my-house/house.toml --film street.mp4 -o found.png --keep street.npz

    Example: lumenmap survey my-house --film front.mp4 --film left.mp4 --film back.mp4
    """
    house = house_file(house)
    if films:
        _read(house, films, _Outputs(out, keep, brightness, as_json))
        return
    for key, asked in (("keep", keep is not None), ("json", as_json)):
        if asked:
            raise InputError("applies to a film; give it with --film", key=key)
    from lumenmap.controller.files.registry import check_ending, format_named
    from lumenmap.controller.ways import feed
    from lumenmap.jobs.blinking import blinking_frames

    if out is not None:
        check_ending(as_format, out)
    frames, words = blinking_frames(house, brightness)
    say(words)
    if out is not None:
        format_named(as_format).write(frames, out, {})
        print(f"wrote {out}")
        return
    given = feed(to or (), multicast=multicast, ipv6=ipv6, port=port)
    send_pattern(house, frames, given, interface, "press Ctrl-C when you have filmed it")


class _Outputs(NamedTuple):
    """What is made of films."""

    picture: Path | None
    keep: Path | None
    brightness: float
    as_json: bool


def _read(house: Path, films: list[Path], outputs: _Outputs) -> None:
    from lumenmap.core.files import check_ending
    from lumenmap.jobs.survey import (
        check_keep,
        film_names,
        keep_survey,
        kept_paths,
        read_survey,
        write_survey_picture,
    )

    out, keep, brightness, as_json = outputs
    # Before the films, which take their time.
    if out is not None:
        check_ending(out, ".png")
    names = list(film_names(films))
    if keep is not None:
        for path in kept_paths(keep, names).values():
            check_keep(house, path)
    with progress("reading the film" if len(films) == 1 else "reading the films") as update:
        found = read_survey(house, films, update, measured=keep is not None)
    if not as_json:
        say(found.lines())
    wrote = []
    if out is not None:
        write_survey_picture(found, out)
        wrote.append(f"wrote {out}")
    if keep is not None:
        wrote += keep_survey(found, keep, brightness)
    print_report({**found.data(), "wrote": wrote}, wrote, as_json)
    if found.diagnosis.faults:
        raise typer.Exit(1)
