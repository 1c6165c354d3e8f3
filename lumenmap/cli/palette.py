"""lumenmap palette: list, draw, make and check palettes."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

from lumenmap.cli.shared.natural import Command
from lumenmap.cli.shared.options import Json, house_named, print_report, progress

palette = typer.Typer(
    help="List, draw, make and check palettes.",
    no_args_is_help=True,
)

Name = Annotated[
    str, typer.Argument(help="A palette: built in, a file of yours, of the show file; or a colour.")
]
Show = Annotated[
    Path | None,
    typer.Option("--show", metavar="FILE", help="Include the palettes of this show file."),
]
Kind = Annotated[
    str,
    typer.Option(
        "--kind", help="Pixel kind, for its colours and currents; ws2811-12v if left out."
    ),
]
House = Annotated[
    Path | None,
    typer.Option(
        "--house",
        metavar="FILE",
        help="Take the pixels of this house file instead.",
        callback=house_named,
    ),
]
Out = Annotated[
    Path | None, typer.Option("--out", "-o", metavar="FILE", help="The PNG file to write.")
]


@palette.command("list", cls=Command)
def list_(
    word: Annotated[
        str, typer.Argument(help="Only those that this word leads to: birthday, flag, Norway.")
    ] = "",
    show: Show = None,
    out: Out = None,
    kind: Kind = "",
    house: House = None,
    as_json: Json = False,
) -> None:
    """List the palettes and their occasions. With -o, draw them all on one sheet.

    Palettes of your own are files NAME.palette.toml next to the show (--show), or in your own
    folder: see lumenmap palette new --save.

    Example: lumenmap palette list

    Example: lumenmap palette list birthday
    """
    from lumenmap.show.palettes import named

    rows = named(show, word)
    if not rows:
        from lumenmap.core.errors import InputError

        raise InputError(f'"{word[:60]}" leads to no palette; lumenmap palette list shows them all')
    wide = max(len(r["name"]) for r in rows)
    lines = [
        f"{r['name']:{wide}}  {r['occasion']}{', ' + r['when'] if r['when'] else ''}" for r in rows
    ]
    print_report({"palettes": rows}, lines, as_json)
    if out is not None:
        _draw([r["name"] for r in rows], show, (kind, house), out)


@palette.command("show", cls=Command)
def show_(
    name: Name, out: Out = None, show: Show = None, kind: Kind = "", house: House = None
) -> None:
    """Draw a palette: on a screen, as LEDs show it, on pixels, and with three colour deficiencies.

    Example: lumenmap palette show row-of-lamps -o lamps.png
    """
    _draw([name], show, (kind, house), out or Path(f"{name}.png"))


def _draw(names: list[str], show: Path | None, pixels: tuple[str, Path | None], out: Path) -> None:
    from lumenmap.core.files import check_ending, whole_file
    from lumenmap.jobs.trial import palette_picture, pixels_of

    check_ending(out, ".png")
    with progress("drawing"):
        image = palette_picture(names, show, pixels_of(*pixels))
    with whole_file(out) as partial:
        image.save(partial, "PNG")
    print(f"wrote {out}")


@palette.command("new", cls=Command)
def new(
    name: Annotated[str, typer.Argument(help="The name of the new palette.")],
    photo: Annotated[
        Path | None,
        typer.Option("--photo", metavar="FILE", help="Take the colours from this photograph."),
    ] = None,
    base: Annotated[
        str, typer.Option("--base", metavar="COLOUR", help="Start from this colour.")
    ] = "",
    harmony: Annotated[
        str,
        typer.Option(
            help="complement, neighbours, triad, square, split or shades of the base colour; "
            "neighbours unless you say so."
        ),
    ] = "",
    count: Annotated[
        int | None,
        typer.Option(help="Most colours to take from the photograph; 5 by default.", min=1, max=16),
    ] = None,
    keep_dim: Annotated[
        bool,
        typer.Option(
            "--keep-dim",
            help="Keep the base colour as dim as it is; by default it is raised to full.",
        ),
    ] = False,
    save: Annotated[
        bool, typer.Option("--save", help="Keep it as a file of your own, for every show.")
    ] = False,
    folder: Annotated[
        Path | None,
        typer.Option("--in", metavar="DIR", help="Keep it as a file in this show's folder."),
    ] = None,
) -> None:
    """Make a palette from a photograph or a colour: print it for a show file, or keep it.

    A photograph gives the lights that a person would pick, and fewer where it has fewer colours.
    What is kept is found by its name from then on.

    Example: lumenmap palette new garden --photo roses.jpg

    Example: lumenmap palette new dusk --base "#c41e3a" --harmony triad

    Example: lumenmap palette new garden --photo roses.jpg --save
    """
    from lumenmap.colour.making.make import make
    from lumenmap.show.palettes import as_toml, write_palette

    colours = make(photo, base, harmony, count, lift=not keep_dim)
    if save or folder is not None:
        print(f"wrote {write_palette(name, colours, folder)}")
    else:
        print(as_toml(name, colours), end="")


@palette.command("check", cls=Command)
def check(
    name: Name, show: Show = None, kind: Kind = "", house: House = None, as_json: Json = False
) -> None:
    """Report the current of a palette, colours LEDs can't show, and colours some eyes confuse.

    Two colours count as alike where their CIEDE2000 difference is below 10 with a deficiency of
    colour vision, or below 5 with none.

    Example: lumenmap palette check jack-o-lantern
    """
    from lumenmap.jobs.trial import check_palette, pixels_of

    report: dict[str, Any]
    report, lines = check_palette(name, show, pixels_of(kind, house))
    print_report(report, lines, as_json)
